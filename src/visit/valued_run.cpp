#include "visit/valued_run.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace gw::visit {

namespace {

// The name under which a component of a gas is reported.
std::optional<gas::Component> reported_as(gas::Component component,
                                          std::vector<gas::Component> const& names,
                                          assay::Method const* method) {
    auto const has = [&](gas::Component c) {
        return std::find(names.begin(), names.end(), c) != names.end();
    };
    if (method != nullptr) {
        auto const* peak = method->peak_of(component);
        if (peak != nullptr && has(peak->component)) return peak->component;
    }
    if (has(component)) return component;
    if (gas::belongs_to_c6_plus(component) && has(gas::c6_plus)) return gas::c6_plus;
    return std::nullopt;
}

}  // namespace

Result<gas::CvGradient> lumped_cv_gradient(gas::Composition const& gas,
                                           gas::Characterisation const& heavy_end,
                                           gas::Reference const& reference) {
    gas::Composition lumped = gas;
    lumped.characterisation = heavy_end;
    lumped.V = {};
    auto const whole = gas::expanded(lumped, gas::default_characterisation());
    GW_TRY(auto const gradient, gas::gross_cv_volume_gradient(whole, reference));
    auto const per = [&](gas::Component c) {
        auto const at = std::find(whole.components.begin(), whole.components.end(), c);
        return at == whole.components.end()
                   ? 0.0
                   : gradient.per_fraction[static_cast<std::size_t>(at - whole.components.begin())];
    };
    gas::CvGradient out{gradient.value, {}};
    auto const& split = heavy_end.parts.empty() ? gas::default_characterisation() : heavy_end;
    for (auto const c : gas.components) {
        double slope = 0;
        if (c == gas::c6_plus) {
            for (auto const& [part, share] : split.parts) slope += share * per(part);
        } else {
            slope = per(c);
        }
        out.per_fraction.push_back(slope);
    }
    return out;
}

Result<ValuedRun> valued(ProofRun const& run,
                         Valuation const& how,
                         std::vector<std::string>& warnings) {
    ValuedRun out;
    out.source = run.source;
    out.hash = run.hash;
    bool const recompute = run.areas && how.method != nullptr && how.calibration != nullptr;
    if (recompute) {
        GW_TRY(auto const measured,
               assay::composition_of(*run.areas, *how.method, *how.calibration));
        warnings.insert(warnings.end(), run.areas->warnings.begin(), run.areas->warnings.end());
        warnings.insert(warnings.end(), measured.warnings.begin(), measured.warnings.end());
        out.gas = measured.gas;
        out.total = measured.unnormalised_total;
    }
    if (run.report && run.report->mole_percent_sum()) {
        GW_TRY(auto const printed, assay::printed_composition(*run.report));
        if (!recompute) {
            out.gas = printed.gas;
            bool const shows_nothing =
                run.report->normalised.value_or(false) && !run.report->unnormalised_total;
            if (!shows_nothing) out.total = printed.unnormalised_total;
        } else {
            for (std::size_t i = 0; i < out.gas.components.size(); ++i) {
                auto const at = std::find(printed.gas.components.begin(),
                                          printed.gas.components.end(),
                                          out.gas.components[i]);
                if (at == printed.gas.components.end()) continue;
                double const theirs =
                    printed.gas.x[static_cast<std::size_t>(at - printed.gas.components.begin())];
                out.printed_difference.emplace_back(*at, 100 * (out.gas.x[i] - theirs));
            }
            GW_TRY(auto const theirs,
                   lumped_cv_gradient(printed.gas, how.heavy_end, how.reference));
            out.printed_cv_difference = theirs.value.value;
        }
    } else if (!recompute) {
        return fail(
            Errc::bad_input,
            "This run has no printed amounts, and without method and calibration its areas say "
            "nothing.",
            run.source,
            "name a method and a calibration in the proof, or give a report with mole_percent");
    }
    GW_TRY(auto const value, lumped_cv_gradient(out.gas, how.heavy_end, how.reference));
    out.cv = value.value.value;
    if (out.printed_cv_difference)
        out.printed_cv_difference = 100 * (out.cv / *out.printed_cv_difference - 1);
    return out;
}

gas::Characterisation heavy_end_of(assay::Cylinder const& cylinder, assay::Method const* method) {
    gas::Characterisation out;
    auto const* plus = method != nullptr ? method->find(gas::c6_plus) : nullptr;
    double total = 0;
    auto const& printed = cylinder.printed;
    for (std::size_t i = 0; i < printed.components.size(); ++i) {
        auto const c = printed.components[i];
        if (c == gas::c6_plus || printed.x[i] <= 0) continue;
        bool const lumped =
            plus != nullptr ? method->peak_of(c) == plus : gas::belongs_to_c6_plus(c);
        if (lumped) out.parts.emplace_back(c, printed.x[i]), total += printed.x[i];
    }
    if (printed.fraction(gas::c6_plus) > 0 && out.parts.empty())
        out = printed.characterisation, total = 0;
    for (auto& part : out.parts)
        if (total > 0) part.second /= total;
    out.origin = "cylinder " + cylinder.serial;
    return out;
}

CertifiedAmounts certified_amounts(assay::Cylinder const& cylinder,
                                   std::vector<gas::Component> const& components,
                                   assay::Method const* method) {
    auto const gas = assay::certified_gas(cylinder);
    CertifiedAmounts out;
    std::size_t const rows = components.size(), columns = gas.components.size();
    out.x.assign(rows, 0.0);
    std::vector<double> J(rows * columns, 0.0);
    for (std::size_t j = 0; j < columns; ++j) {
        auto const name = reported_as(gas.components[j], components, method);
        if (!name) {
            if (gas.x[j] > 0) out.unnamed.push_back(gas.components[j]);
            continue;
        }
        auto const row = static_cast<std::size_t>(
            std::find(components.begin(), components.end(), *name) - components.begin());
        out.x[row] += gas.x[j];
        J[row * columns + j] = 1;
    }
    if (!gas.V.empty()) out.V = congruence(J, rows, gas.V);
    return out;
}

}  // namespace gw::visit
