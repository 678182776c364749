// The error of the calorific value over two components of a range.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "assay/performance.hpp"

namespace gw::assay {

namespace {

Result<std::size_t> named(PerformanceSpec const& spec, std::string const& name) {
    GW_TRY(auto const component, gas::require_component(name, "--map"));
    auto const at = std::find(spec.components.begin(), spec.components.end(), component);
    if (at == spec.components.end())
        return fail(Errc::bad_input,
                    fmt::format("The range does not name {}.", gas::name(component)),
                    "--map",
                    "name a component of the range");
    return static_cast<std::size_t>(at - spec.components.begin());
}

std::vector<double> middles(double low, double high, std::size_t cells) {
    std::vector<double> out;
    for (std::size_t i = 0; i < cells; ++i)
        out.push_back(low +
                      (high - low) * (static_cast<double>(i) + 0.5) / static_cast<double>(cells));
    return out;
}

}  // namespace

Result<PerformanceMap> performance_map(PerformanceSpec const& spec,
                                       Performance const& performance,
                                       std::vector<std::string> const& axes,
                                       std::size_t cells) {
    std::size_t const n = spec.components.size();
    if (n < 3)
        return fail(Errc::bad_input,
                    "A map needs a range of three components or more.",
                    "--output",
                    "leave the map out");
    PerformanceMap out;
    out.rest = static_cast<std::size_t>(std::max_element(spec.high.begin(), spec.high.end()) -
                                        spec.high.begin());
    if (axes.empty()) {
        std::vector<std::size_t> order(n);
        std::iota(order.begin(), order.end(), 0);
        order.erase(order.begin() + static_cast<std::ptrdiff_t>(out.rest));
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return spec.high[a] - spec.low[a] > spec.high[b] - spec.low[b];
        });
        out.across = order[0];
        out.up = order[1];
    } else {
        if (axes.size() != 2)
            return fail(
                Errc::bad_input, "A map has two axes.", "--map", "name it twice, once for each");
        GW_TRY(out.across, named(spec, axes[0]));
        GW_TRY(out.up, named(spec, axes[1]));
        if (out.across == out.up || out.across == out.rest || out.up == out.rest)
            return fail(Errc::bad_input,
                        fmt::format("The axes are two components other than {}, which takes what "
                                    "is left.",
                                    gas::name(spec.components[out.rest])),
                        "--map",
                        "name two others");
    }
    out.x = middles(spec.low[out.across], spec.high[out.across], cells);
    out.y = middles(spec.low[out.up], spec.high[out.up], cells);
    std::vector<double> x(n);
    for (std::size_t i = 0; i < n; ++i) x[i] = 0.5 * (spec.low[i] + spec.high[i]);
    for (double const up : out.y)
        for (double const across : out.x) {
            x[out.across] = across;
            x[out.up] = up;
            x[out.rest] = 0;
            double const left = 1 - std::accumulate(x.begin(), x.end(), 0.0);
            x[out.rest] = left;
            if (!(left >= spec.low[out.rest] && left <= spec.high[out.rest])) {
                out.error_percent.push_back(std::numeric_limits<double>::quiet_NaN());
                continue;
            }
            GW_TRY(auto const at, performance_at(spec, performance.functions, x));
            constexpr std::size_t gross_cv = 0;  // RealProperty::gross_cv_volume
            out.error_percent.push_back(at.error_percent[gross_cv]);
            out.largest = std::max(out.largest, std::abs(at.error_percent[gross_cv]));
        }
    return out;
}

}  // namespace gw::assay
