#include "bench/outage.hpp"

#include <fmt/format.h>

#include <cmath>

#include "bench/propagation.hpp"
#include "metrology/statistics.hpp"

namespace gw::bench {

Result<Outage> outage(std::vector<OutageStep> const& steps,
                      std::vector<OutageStream> const& streams) {
    if (steps.empty())
        return fail(
            Errc::bad_input, "Nothing says how long it takes.", "steps", "give one or more");
    Outage out;
    double variance = 0;
    for (auto const& step : steps) {
        if (!(step.time.value >= 0))
            return fail(
                Errc::out_of_range, fmt::format("{} takes less than no time.", step.name), "steps");
        out.time.value += step.time.value;
        variance += step.time.u * step.time.u;
    }
    if (!(out.time.value > 0))
        return fail(Errc::out_of_range, "The steps take no time at all.", "steps");
    out.time.u = std::sqrt(variance);
    double total = 0;
    for (auto const& s : streams) {
        if (!(s.flow.value >= 0 && s.fallback_cv > 0 && s.expected_cv.value > 0))
            return fail(
                Errc::out_of_range,
                fmt::format("{}: calorific values must be above zero, the flow not below.", s.name),
                "streams");
        StreamError e;
        e.name = s.name;
        e.energy = s.flow.value * out.time.value * s.fallback_cv;
        e.percent =
            propagated([&](std::span<double const> v) { return 100 * (s.fallback_cv / v[0] - 1); },
                       {s.expected_cv});
        e.energy_error = propagated(
            [&](std::span<double const> v) { return v[0] * v[1] * (s.fallback_cv - v[2]); },
            {s.flow, out.time, s.expected_cv});
        e.largest = std::abs(e.energy_error.value) + 2 * e.energy_error.u;
        out.total_error.value += e.energy_error.value;
        total += e.energy_error.u * e.energy_error.u;
        out.streams.push_back(std::move(e));
    }
    out.total_error.u = std::sqrt(total);
    return out;
}

Result<double> billing_calorific_value(std::vector<double> const& daily, double step) {
    if (daily.empty() || !(step > 0))
        return fail(Errc::bad_input,
                    "A billing value needs daily values and a step above zero.",
                    "daily",
                    "give one or more");
    // A mean that lies on a step within rounding stays on it.
    return step * std::floor(metrology::mean(daily) / step + 1e-9);
}

}  // namespace gw::bench
