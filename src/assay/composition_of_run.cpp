#include "assay/composition_of_run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace gw::assay {

namespace {

constexpr double split_uncertainty = 0.1;  // see with_heavy_end

// Raw amounts closed to a composition, and the matrix that carries their covariance along.
struct Closed {
    std::vector<double> x, J;
};

Closed close(std::vector<double> const& raw,
             double fixed_total,
             std::size_t measured,
             std::optional<std::size_t> methane) {
    std::size_t const n = raw.size();
    Closed out{raw, std::vector<double>(n * n, 0.0)};
    auto J = [&](std::size_t i, std::size_t j) -> double& { return out.J[i * n + j]; };
    for (std::size_t i = 0; i < n; ++i) J(i, i) = 1;
    if (methane) {
        double others = 0;
        for (std::size_t i = 0; i < n; ++i)
            if (i != *methane) others += raw[i];
        out.x[*methane] = 1 - others;
        for (std::size_t j = 0; j < n; ++j) J(*methane, j) = j == *methane ? 0 : -1;
        return out;
    }
    double sum = 0;
    for (std::size_t i = 0; i < measured; ++i) sum += raw[i];
    double const room = 1 - fixed_total;
    for (std::size_t i = 0; i < measured; ++i) out.x[i] = raw[i] * room / sum;
    for (std::size_t i = 0; i < measured; ++i) {
        for (std::size_t j = 0; j < measured; ++j) J(i, j) = ((i == j ? room : 0) - out.x[i]) / sum;
        for (std::size_t j = measured; j < n; ++j) J(i, j) = -out.x[i] / room;
    }
    return out;
}

}  // namespace

Result<RunComposition> composition_of(RunAreas const& run,
                                      Method const& method,
                                      Calibration const& calibration) {
    RunComposition out;
    std::vector<double> raw;
    std::vector<std::size_t> factor_of;
    std::vector<double> area_u;
    std::optional<std::size_t> methane;
    GW_TRY(auto const methane_component, gas::require_component("methane", "closure"));
    for (auto const& area : run.areas) {
        auto const* factor = calibration.find(area.component);
        if (factor == nullptr) {
            out.warnings.push_back(fmt::format(
                "{}: {} has no factor in the calibration; its area is left out of the composition.",
                run.source,
                gas::name(area.component)));
            continue;
        }
        double const x = area.area / factor->value;
        if (x < 0)
            out.warnings.push_back(fmt::format("{}: the area of {} is negative and counts as zero.",
                                               run.source,
                                               gas::name(area.component)));
        if (area.component == methane_component) methane = raw.size();
        out.gas.components.push_back(area.component);
        raw.push_back(std::max(x, 0.0));
        factor_of.push_back(static_cast<std::size_t>(factor - calibration.factors.data()));
        area_u.push_back(area.area > 0 ? area.u / area.area : 0);
    }
    if (raw.empty())
        return fail(Errc::bad_input,
                    "No component has both an area and a factor.",
                    run.source,
                    "check that run, method and calibration belong together");
    std::size_t const measured = raw.size();
    double measured_total = 0, fixed_total = 0;
    for (double const x : raw) measured_total += x;
    if (!(measured_total > 0))
        return fail(Errc::bad_input,
                    "Every area is zero or negative.",
                    run.source,
                    "check the trace and its sign");
    for (auto const& [component, x] : method.fixed) {
        out.gas.components.push_back(component);
        raw.push_back(x);
        fixed_total += x;
    }
    if (fixed_total >= 1)
        return fail(Errc::bad_input,
                    "The fixed components leave no room for the measured ones.",
                    "method:fixed",
                    "correct them");
    out.unnormalised_total = measured_total + fixed_total;

    SquareMatrix V(raw.size());
    for (std::size_t a = 0; a < measured; ++a)
        for (std::size_t b = 0; b < measured; ++b) {
            double relative = calibration.relative_covariance(factor_of[a], factor_of[b]);
            double single = calibration.run_covariance.empty()
                                ? 0
                                : calibration.run_covariance(factor_of[a], factor_of[b]);
            // A run noisier than those of the calibration, or one whose repeatability is not known.
            if (a == b) single = std::max(single, area_u[a] * area_u[a]);
            V(a, b) = raw[a] * raw[b] * (relative + single);
        }
    bool const by_difference = method.closure == Closure::methane_by_difference;
    if (by_difference && !methane)
        return fail(Errc::bad_input,
                    "Methane by difference needs a methane peak with a factor.",
                    run.source,
                    "check the peak or close by normalising");
    auto const closed = close(raw, fixed_total, measured, by_difference ? methane : std::nullopt);
    out.gas.x = closed.x;
    out.gas.V = congruence(closed.J, raw.size(), V);
    if (by_difference && out.gas.x[*methane] < 0)
        return fail(Errc::out_of_range,
                    "The other components leave less than nothing for methane.",
                    run.source,
                    "check the factors");
    return out;
}

Result<RunComposition> printed_composition(trace::ReportTable const& report) {
    auto const sum = report.mole_percent_sum();
    if (!sum || !(*sum > 0))
        return fail(Errc::bad_input,
                    "The report states no mole_percent.",
                    report.source,
                    "add the column, or give a method and a calibration");
    RunComposition out;
    for (auto const& row : report.rows) {
        if (!row.mole_percent) {
            out.warnings.push_back(
                fmt::format("{}: no mole_percent of {}.", report.source, gas::name(row.component)));
            continue;
        }
        out.gas.components.push_back(row.component);
        out.gas.x.push_back(*row.mole_percent / *sum);
    }
    out.unnormalised_total = report.unnormalised_total.value_or(*sum) / 100;
    return out;
}

gas::Characterisation line_gas_characterisation(gas::Characterisation const& option,
                                                Method const* method,
                                                Calibration const* calibration,
                                                std::vector<std::string>& warnings) {
    if (!option.parts.empty()) return option;
    if (method != nullptr && !method->characterisation.parts.empty())
        return method->characterisation;
    if (calibration != nullptr && !calibration->characterisation.parts.empty())
        return calibration->characterisation;
    warnings.emplace_back(
        "No split of C6+ is stated for this site: the usual 47.466/35.340/17.194 "
        "n-hexane/n-heptane/n-octane is taken (common practice, no source).");
    return gas::default_characterisation();
}

gas::Composition with_heavy_end(gas::Composition const& gas,
                                gas::Characterisation const& split,
                                bool own_split) {
    gas::Composition lumped = gas;
    lumped.characterisation = split;
    double const amount = gas.fraction(gas::c6_plus);
    auto out = gas::expanded(lumped, split);
    if (own_split || amount <= 0 || split.parts.empty() || out.V.empty()) return out;
    auto const by_carbon = [](auto const& a, auto const& b) {
        return gas::carbon_number(a.first) < gas::carbon_number(b.first);
    };
    auto const light = std::min_element(split.parts.begin(), split.parts.end(), by_carbon)->first;
    auto const heavy = std::max_element(split.parts.begin(), split.parts.end(), by_carbon)->first;
    auto const place = [&](gas::Component c) {
        return static_cast<std::size_t>(std::find(out.components.begin(), out.components.end(), c) -
                                        out.components.begin());
    };
    if (light == heavy) return out;  // one part only: nothing to move between
    double const moved = split_uncertainty * amount;
    std::size_t const a = place(light), b = place(heavy);
    out.V(a, a) += moved * moved, out.V(b, b) += moved * moved;
    out.V(a, b) -= moved * moved, out.V(b, a) -= moved * moved;
    return out;
}

}  // namespace gw::assay
