#include "gas/composition.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numeric>

namespace gw::gas {

Characterisation default_characterisation() {
    return {{{*find_component("n-hexane"), 0.47466},
             {*find_component("n-heptane"), 0.35340},
             {*find_component("n-octane"), 0.17194}},
            "the usual split of 47.466/35.340/17.194 mol% n-hexane/n-heptane/n-octane"};
}

double Composition::total() const { return std::accumulate(x.begin(), x.end(), 0.0); }

double Composition::fraction(Component component) const {
    auto const found = std::find(components.begin(), components.end(), component);
    return found == components.end() ? 0.0
                                     : x[static_cast<std::size_t>(found - components.begin())];
}

Json composition_json(Composition const& gas) {
    auto components = Json::object();
    for (std::size_t i = 0; i < gas.x.size(); ++i)
        components[std::string(name(gas.components[i]))] = gas.x[i];
    Json out{{"schema", "gaswright.composition/1"}, {"unit", "mol/mol"}};
    out["components"] = std::move(components);
    if (!gas.V.empty()) {
        auto const u = standard_uncertainties(gas.V);
        auto uncertainty = Json::object();
        auto order = Json::array();
        auto covariance = Json::array();
        for (std::size_t i = 0; i < u.size(); ++i) {
            uncertainty[std::string(name(gas.components[i]))] = u[i];
            order.push_back(std::string(name(gas.components[i])));
            auto row = Json::array();
            for (std::size_t j = 0; j < u.size(); ++j) row.push_back(gas.V(i, j));
            covariance.push_back(std::move(row));
        }
        out["standard_uncertainty"] = std::move(uncertainty);
        out["component_order"] = std::move(order);
        out["covariance"] = std::move(covariance);
    }
    if (!gas.characterisation.parts.empty()) {
        auto parts = Json::object();
        for (auto const& [component, share] : gas.characterisation.parts)
            parts[std::string(name(component))] = share;
        out["characterisation"] = Json{{std::string(name(c6_plus)), std::move(parts)}};
    }
    return out;
}

Composition normalised(Composition gas) {
    double const total = gas.total();
    if (!(total > 0)) return gas;  // nothing to scale
    for (double& x : gas.x) x /= total;
    if (gas.V.empty()) return gas;
    std::size_t const n = gas.x.size();
    std::vector<double> J(n * n);
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t j = 0; j < n; ++j)
            J[i * n + j] = ((i == j ? 1.0 : 0.0) - gas.x[i]) / total;
    gas.V = congruence(J, n, gas.V);
    return gas;
}

Result<std::pair<Composition, TotalReport>> with_checked_total(Composition gas,
                                                               TotalOptions const& options,
                                                               std::string const& where) {
    TotalReport report{gas.total(), options.normalise};
    if (!std::isfinite(report.total) || !(report.total > 0))
        return fail(Errc::bad_input, "The amounts add up to nothing.", where, "state the amounts");
    if (options.normalise) return std::pair(normalised(std::move(gas)), report);
    constexpr double rounding = 1e-12;  // a total of 0.999 is on the limit, not beyond it
    if (std::abs(report.total - 1.0) > options.tolerance + rounding)
        return fail(Errc::bad_input,
                    fmt::format("The amounts add up to {:.6g} mol/mol, further than {} from one.",
                                report.total,
                                options.tolerance),
                    where,
                    "correct the amounts or their unit, or ask for --normalise");
    return std::pair(std::move(gas), report);
}

Composition expanded(Composition const& gas, Characterisation const& otherwise) {
    auto const& split = gas.characterisation.parts.empty() ? otherwise : gas.characterisation;
    auto const plus = std::find(gas.components.begin(), gas.components.end(), c6_plus);
    if (plus == gas.components.end() || split.parts.empty()) return gas;

    Composition out;
    for (auto const component : gas.components)
        if (component != c6_plus) out.components.push_back(component);
    for (auto const& part : split.parts)
        if (std::find(out.components.begin(), out.components.end(), part.first) ==
            out.components.end())
            out.components.push_back(part.first);

    // Row: a component of the answer; column: a component of the gas.
    std::size_t const rows = out.components.size();
    std::size_t const columns = gas.components.size();
    auto const row_of = [&out](Component component) {
        auto const found = std::find(out.components.begin(), out.components.end(), component);
        return static_cast<std::size_t>(found - out.components.begin());
    };
    std::vector<double> J(rows * columns, 0.0);
    for (std::size_t j = 0; j < columns; ++j) {
        if (gas.components[j] == c6_plus) {
            for (auto const& part : split.parts) J[row_of(part.first) * columns + j] = part.second;
        } else {
            J[row_of(gas.components[j]) * columns + j] = 1.0;
        }
    }
    out.x.assign(rows, 0.0);
    for (std::size_t i = 0; i < rows; ++i)
        for (std::size_t j = 0; j < columns; ++j) out.x[i] += J[i * columns + j] * gas.x[j];
    if (!gas.V.empty()) out.V = congruence(J, rows, gas.V);
    return out;
}

}  // namespace gw::gas
