#include "bench/lag.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "bench/propagation.hpp"
#include "gas/equation_of_state.hpp"

namespace gw::bench {

double mean_line_pressure(double p1, double p2) {
    if (std::abs(p1 - p2) < 1e-6 * p1) return 0.5 * (p1 + p2);
    // (p1^3 - p2^3)/(p1^2 - p2^2) with the common factor p1 - p2 taken out.
    return 2.0 / 3.0 * (p1 * p1 + p1 * p2 + p2 * p2) / (p1 + p2);
}

Measured tube_volume(Measured const& length, Measured const& bore) {
    return propagated(
        [](std::span<double const> v) { return std::numbers::pi / 4 * v[1] * v[1] * v[0]; },
        {length, bore});
}

namespace {

Result<double> compression_factor(gas::PreparedGas const& gas, double p, double T) {
    GW_TRY(auto const state, gas::fluid_state(gas, kelvin(T), pascal(p)));
    return state.compression_factor;
}

// The time at which mixers in a row have let 95 % of a step through, found on their chain: one
// stirred volume feeding the next. Equal or not, one or many.
double settled_95(std::vector<double> const& tau) {
    double slowest = 0, sum = 0;
    for (double const t : tau) {
        slowest = std::max(slowest, t);
        sum += t;
    }
    if (!(slowest > 0) || !std::isfinite(sum)) return sum;
    std::vector<double> c(tau.size(), 0.0);
    // Explicit steps of a hundredth of the fastest volume that matters, trapezoidal in time.
    double fastest = slowest;
    for (double const t : tau)
        if (t > 1e-3 * slowest) fastest = std::min(fastest, t);
    double const dt = std::max(fastest / 100, sum / 2e6);
    double time = 0, before = 0;
    while (c.back() < 0.95 && time < 40 * sum) {
        before = c.back();
        double in_old = 1, in_new = 1;
        for (std::size_t i = 0; i < tau.size(); ++i) {
            double const old = c[i];
            if (tau[i] > 1e-3 * slowest) {
                double const half = 0.5 * dt / tau[i];
                c[i] = ((1 - half) * old + half * (in_old + in_new)) / (1 + half);
            } else {
                c[i] = in_new;
            }
            in_old = old;
            in_new = c[i];
        }
        time += dt;
    }
    return time - dt * (c.back() - 0.95) / std::max(c.back() - before, 1e-300);
}

}  // namespace

Result<Lag> sample_lag(LagInputs const& in) {
    if (in.sections.empty())
        return fail(Errc::bad_input, "There is no line to pass.", "sections", "give one or more");
    std::optional<gas::PreparedGas> gas;
    double Z0 = 1;
    if (in.gas) {
        GW_TRY(gas, gas::prepared(*in.gas, gas::WideRangeEquation::gerg2008));
        GW_TRY(Z0, compression_factor(*gas, in.reference_p, in.reference_T));
    }
    Lag out;
    if (gas) out.warnings = gas->warnings;
    double plug_u = 0, mixed_u = 0;
    std::vector<double> taus;
    for (auto const& s : in.sections) {
        for (double const each :
             {s.volume.value, s.p_in.value, s.p_out.value, s.temperature.value, s.flow.value})
            if (!(each > 0))
                return fail(Errc::out_of_range,
                            fmt::format("{}: volume, pressures, temperature and flow must be above "
                                        "zero.",
                                        s.name),
                            "sections");
        if (s.p_out.value > s.p_in.value)
            return fail(Errc::out_of_range,
                        fmt::format("{}: gas does not flow to the higher pressure.", s.name),
                        "sections",
                        "swap the two");
        LagOfSection one;
        one.name = s.name;
        one.volume = s.volume.value;
        one.pressure = mean_line_pressure(s.p_in.value, s.p_out.value);
        if (gas) {
            GW_TRY(double const Z, compression_factor(*gas, one.pressure, s.temperature.value));
            one.Z = Z / Z0;
        }
        one.time = propagated(
            [&](std::span<double const> v) {
                return v[0] * mean_line_pressure(v[1], v[2]) / in.reference_p *
                       (in.reference_T / v[3]) / one.Z / v[4];
            },
            {s.volume, s.p_in, s.p_out, s.temperature, s.flow});
        if (s.mixes) {
            taus.push_back(one.time.value);
            mixed_u += one.time.u * one.time.u;
        } else {
            out.plug.value += one.time.value;
            plug_u += one.time.u * one.time.u;
        }
        out.sections.push_back(std::move(one));
    }
    out.plug.u = std::sqrt(plug_u);
    double total = 0;
    for (double const tau : taus) total += tau;
    double const settled = settled_95(taus);
    // To first order the 95 % time goes with the sum of the mixers' times.
    double const slope = total > 0 ? settled / total : 0;
    out.through_95 = {out.plug.value + settled, std::sqrt(plug_u + slope * slope * mixed_u)};
    double const cycle = in.cycle.value;
    auto const age = [&](double cycles) {
        return Measured{out.through_95.value + cycles * cycle,
                        std::hypot(out.through_95.u, cycles * in.cycle.u)};
    };
    out.age_low = age(0.5);
    out.age_high = age(1.5);
    out.age_mean = age(1);
    return out;
}

}  // namespace gw::bench
