#include "bench/purge.hpp"

#include <cmath>

#include "bench/propagation.hpp"

namespace gw::bench {

namespace {

Result<> check_fractions(double from, double to) {
    if (from > 0 && from <= 1 && to > 0 && to < from) return {};
    return fail(Errc::out_of_range,
                "What is left must lie above zero and below what was there, both at most 1.",
                "to",
                "give fractions, as 0.79 and 10 ppm");
}

}  // namespace

Result<FlowPurgeAnswer> purge_by_flow(FlowPurge const& p) {
    GW_CHECK(check_fractions(p.from, p.to));
    if (!(p.volume.value > 0 && p.flow.value > 0 && p.pressure.value > 0 &&
          p.temperature.value > 0 && p.reference_p > 0 && p.reference_T > 0))
        return fail(Errc::out_of_range,
                    "Volume, flow, pressure and temperature must be above zero.",
                    "flow",
                    "correct the one that is not");
    FlowPurgeAnswer out;
    out.volumes = std::log(p.from / p.to);
    // Flow at the state of the volume: Q_ref (p_ref/p)(T/T_ref).
    auto const turnover = [&](std::span<double const> v) {  // V, Q, p, T: seconds a volume
        return v[0] / (v[1] * (p.reference_p / v[2]) * (v[3] / p.reference_T));
    };
    std::vector<Measured> const inputs = {p.volume, p.flow, p.pressure, p.temperature, p.time};
    out.time =
        propagated([&](std::span<double const> v) { return out.volumes * turnover(v); }, inputs);
    if (p.time.value > 0)
        out.left = propagated(
            [&](std::span<double const> v) { return p.from * std::exp(-v[4] / turnover(v)); },
            inputs);
    return out;
}

Result<CyclePurgeAnswer> purge_by_cycles(CyclePurge const& p) {
    GW_CHECK(check_fractions(p.from, p.to));
    if (!(p.low.value > 0 && p.high.value > p.low.value))
        return fail(Errc::out_of_range,
                    "The high pressure must lie above the low one, both absolute and above zero.",
                    "high",
                    "give absolute pressures, or gauge ones as barg with the ambient");
    if (p.cycles < 0)
        return fail(Errc::out_of_range, "The number of cycles is not below zero.", "cycles");
    CyclePurgeAnswer out;
    out.exact = propagated(
        [&](std::span<double const> v) { return std::log(p.to / p.from) / std::log(v[0] / v[1]); },
        {p.low, p.high});
    out.cycles = static_cast<int>(std::ceil(out.exact.value - 1e-9));
    int const n = p.cycles > 0 ? p.cycles : out.cycles;
    out.left =
        propagated([&](std::span<double const> v) { return p.from * std::pow(v[0] / v[1], n); },
                   {p.low, p.high});
    return out;
}

}  // namespace gw::bench
