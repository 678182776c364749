#include "bench/endurance.hpp"

#include <cmath>
#include <memory>

#include "bench/propagation.hpp"
#include "gas/equation_of_state.hpp"

namespace gw::bench {

namespace {

constexpr double R = 8.31446261815324;  // J/(mol K), SI Brochure 9th ed.: exact
constexpr double day_s = 86400;

}  // namespace

CompressionFactor ideal_gas() {
    return [](double, double) { return Result<double>(1.0); };
}

CompressionFactor second_virial(double B) {
    return [B](double p, double T) { return Result<double>(1 + B * p / (R * T)); };
}

Result<CompressionFactor> gerg2008_factor(gas::Composition const& gas) {
    GW_TRY(auto prepared, gas::prepared(gas, gas::WideRangeEquation::gerg2008));
    auto const shared = std::make_shared<gas::PreparedGas const>(std::move(prepared));
    return CompressionFactor([shared](double p, double T) -> Result<double> {
        GW_TRY(auto const state, gas::fluid_state(*shared, kelvin(T), pascal(p)));
        return state.compression_factor;
    });
}

Result<Endurance> endurance(EnduranceInputs const& in) {
    if (!(in.water_volume.value > 0 && in.cylinders > 0 && in.temperature.value > 0 &&
          in.p_least.value >= 0))
        return fail(Errc::out_of_range,
                    "Volume, number of cylinders and temperature must be above zero.",
                    "volume");
    if (!(in.p_now.value > in.p_least.value))
        return fail(Errc::out_of_range,
                    "The cylinder is at or below the least pressure already.",
                    "least",
                    "both pressures are absolute unless written as gauge");
    if (!(in.flow.value >= 0 && in.daily_use.value >= 0 && in.flow.value + in.daily_use.value > 0))
        return fail(Errc::out_of_range,
                    "Nothing is used: a cylinder without use lasts for ever.",
                    "flow",
                    "give a flow or a daily use");
    auto const Z = in.Z ? in.Z : ideal_gas();
    Endurance out;
    GW_TRY(out.Z_now, Z(in.p_now.value, in.temperature.value));
    out.Z_least = 1;
    if (in.p_least.value > 0) {
        GW_TRY(out.Z_least, Z(in.p_least.value, in.temperature.value));
    }
    std::optional<Error> failed;
    auto const factor = [&](double p, double T) {
        if (!(p > 0)) return 1.0;
        auto const z = Z(p, T);
        if (z) return *z;
        failed = z.error();
        return 1.0;
    };
    auto const content = [&](std::span<double const> v) {  // V, p1, p2, T
        double const moles = in.cylinders * v[0] / (R * v[3]) *
                             (v[1] / factor(v[1], v[3]) - v[2] / factor(v[2], v[3]));
        return moles * R * in.reference_T / in.reference_p;
    };
    out.content = propagated(content, {in.water_volume, in.p_now, in.p_least, in.temperature});
    out.time =
        propagated([&](std::span<double const> v) { return content(v) / (v[4] + v[5] / day_s); },
                   {in.water_volume, in.p_now, in.p_least, in.temperature, in.flow, in.daily_use});
    if (failed) return pass_on(*failed);
    out.ideal_content = in.cylinders * in.water_volume.value * in.p_now.value / in.reference_p *
                        in.reference_T / in.temperature.value;
    // Gauge after a cold night, content unchanged: p2 = p1 (T - 25)/T, ideal to first order.
    constexpr double cold_night_K = 25;
    out.cold_night_fall = cold_night_K / in.temperature.value;
    if (in.lead_time_s > 0) {
        double const need = 2 * in.lead_time_s * (in.flow.value + in.daily_use.value / day_s);
        if (need < out.content.value) {
            double low = in.p_least.value, high = in.p_now.value;
            for (int i = 0; i < 60; ++i) {
                double const middle = 0.5 * (low + high);
                double const v[] = {
                    in.water_volume.value, middle, in.p_least.value, in.temperature.value};
                (content(v) < need ? low : high) = middle;
            }
            out.alarm_pressure = 0.5 * (low + high);
        } else {
            out.alarm_pressure = in.p_now.value;  // it is due now
        }
    }
    return out;
}

}  // namespace gw::bench
