#pragma once
/// First-order propagation of independent inputs through a formula (GUM 5.1.2), by central
/// differences.
#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "base/quantity.hpp"

namespace gw::bench {

/// f: of the values of `inputs`, in their order.
template <class F>
Measured propagated(F const& f, std::vector<Measured> const& inputs) {
    std::vector<double> x;
    x.reserve(inputs.size());
    for (auto const& each : inputs) x.push_back(each.value);
    Measured out{f(std::span<double const>(x)), 0};
    double variance = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (!(inputs[i].u > 0)) continue;
        double const at = x[i], h = std::max(1e-3 * inputs[i].u, 1e-9 * std::abs(at));
        x[i] = at + h;
        double const up = f(std::span<double const>(x));
        x[i] = at - h;
        double const down = f(std::span<double const>(x));
        x[i] = at;
        double const part = (up - down) / (2 * h) * inputs[i].u;
        variance += part * part;
    }
    out.u = std::sqrt(variance);
    return out;
}

}  // namespace gw::bench
