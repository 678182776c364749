#include "bench/shelter.hpp"

#include <cmath>

#include "bench/propagation.hpp"

namespace gw::bench {

Result<Shelter> oxygen_depletion(ShelterInputs const& in) {
    if (!(in.room.value > 0))
        return fail(Errc::out_of_range, "The room's volume must be above zero.", "room");
    if (!(in.released.value >= 0 && in.flow.value >= 0 && in.ventilation.value >= 0 &&
          in.time_s >= 0))
        return fail(Errc::out_of_range,
                    "Released gas, flow, ventilation and time are not below zero.",
                    "released");
    if (!(in.released.value > 0 || in.flow.value > 0))
        return fail(Errc::bad_input,
                    "Nothing is released.",
                    "released",
                    "give the gas released at once, or the flow of a leak");
    Shelter out;
    double const air = oxygen_of_air;
    out.at_once =
        propagated([&](std::span<double const> v) { return air * std::exp(-v[1] / v[0]); },
                   {in.room, in.released});
    out.lowest = out.at_once;
    double const start = out.at_once.value;
    if (in.entry > start) out.time_to_entry_s = 0;
    if (!(in.flow.value > 0)) return out;
    auto const steady = [&](double flow, double fresh) { return air * fresh / (fresh + flow); };
    out.steady = propagated([&](std::span<double const> v) { return steady(v[0], v[1]); },
                            {in.flow, in.ventilation});
    auto const after = [&](std::span<double const> v) {  // room, released, flow, ventilation
        double const end = steady(v[2], v[3]);
        return end +
               (air * std::exp(-v[1] / v[0]) - end) * std::exp(-(v[2] + v[3]) * in.time_s / v[0]);
    };
    if (in.time_s > 0)
        out.at_time = propagated(after, {in.room, in.released, in.flow, in.ventilation});
    auto const& end = in.time_s > 0 ? *out.at_time : *out.steady;
    if (end.value < out.lowest.value) out.lowest = end;
    double const settled = out.steady->value;
    if (!out.time_to_entry_s && settled < in.entry)
        out.time_to_entry_s = in.room.value / (in.flow.value + in.ventilation.value) *
                              std::log((start - settled) / (in.entry - settled));
    return out;
}

}  // namespace gw::bench
