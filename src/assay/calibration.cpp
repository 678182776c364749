#include "assay/calibration.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "metrology/statistics.hpp"

namespace gw::assay {

Factor const* Calibration::find(gas::Component component) const {
    auto const at = std::find_if(
        factors.begin(), factors.end(), [&](Factor const& f) { return f.component == component; });
    return at == factors.end() ? nullptr : &*at;
}

namespace {

struct Standard {
    gas::Component peak;
    double amount{};                   // mol/mol, of all that elutes there
    std::vector<std::size_t> members;  // indices into the certificate's components
};

// What the certificate puts into each peak of the method.
Result<std::vector<Standard>> standards(Method const& method, Cylinder const& cylinder) {
    std::vector<Standard> out;
    for (auto const& peak : method.peaks) out.push_back({peak.component, 0, {}});
    for (std::size_t i = 0; i < cylinder.printed.components.size(); ++i) {
        auto const component = cylinder.printed.components[i];
        if (cylinder.printed.x[i] == 0 || method.is_fixed(component)) continue;
        auto const* peak = method.peak_of(component);
        if (peak == nullptr)
            return fail(Errc::bad_input,
                        fmt::format("The certificate holds {}, but no peak of the method names it.",
                                    gas::name(component)),
                        "cylinder " + cylinder.serial,
                        "add it to a peak's \"includes\", or give it a peak");
        auto& standard = out[static_cast<std::size_t>(peak - method.peaks.data())];
        standard.amount += cylinder.printed.x[i];
        standard.members.push_back(i);
    }
    return out;
}

// Runs to leave out because one component's factor stands out; the shared level keeps the risk of
// losing a good set at alpha however many components there are.
std::vector<std::pair<std::size_t, std::string>> outliers(
    std::vector<RunAreas const*> const& runs,
    std::vector<gas::Component> const& components,
    double alpha) {
    std::vector<std::pair<std::size_t, std::string>> rejected;
    std::vector<std::size_t> left(runs.size());
    for (std::size_t i = 0; i < left.size(); ++i) left[i] = i;
    double const level = alpha / std::max<double>(1, static_cast<double>(components.size()));
    while (left.size() >= 4) {
        double worst = 0;
        std::size_t which = 0;
        std::string reason;
        for (auto const component : components) {
            std::vector<double> values;
            values.reserve(left.size());
            for (auto const i : left) values.push_back(runs[i]->find(component)->area);
            auto const test = metrology::grubbs(values);
            double const critical = metrology::grubbs_critical(left.size(), level, true);
            double const excess = test.statistic / critical;
            if (excess > 1 && excess > worst) {
                worst = excess;
                which = test.index;
                reason = fmt::format(
                    "Grubbs' outlier in {}: G = {:.3f} over {:.3f} ({:.2g} % for {} runs, shared "
                    "among {} components)",
                    gas::name(component),
                    test.statistic,
                    critical,
                    100 * level,
                    left.size(),
                    components.size());
            }
        }
        if (reason.empty()) break;
        rejected.emplace_back(left[which], reason);
        left.erase(left.begin() + static_cast<std::ptrdiff_t>(which));
    }
    return rejected;
}

// Relative covariance of the amounts behind the factors, through the certificate's constraint.
SquareMatrix amount_covariance(std::vector<Standard> const& used,
                               gas::Composition const& certified) {
    std::size_t const rows = used.size(), columns = certified.components.size();
    std::vector<double> J(rows * columns, 0.0);
    for (std::size_t r = 0; r < rows; ++r)
        for (auto const member : used[r].members) J[r * columns + member] = 1 / used[r].amount;
    return congruence(J, rows, certified.V);
}

}  // namespace

Result<Calibration> calibrate(std::vector<RunAreas> const& runs,
                              Method const& method,
                              Cylinder const& cylinder,
                              CalibrateOptions const& options) {
    Calibration out;
    out.cylinder = cylinder.serial;
    out.method_hash = method.hash;
    out.cylinder_hash = cylinder.sha256;
    GW_TRY(auto const all, standards(method, cylinder));

    std::vector<RunAreas const*> kept;
    for (std::size_t i = 0; i < runs.size(); ++i) {
        if (i < options.discard)
            out.runs_rejected.push_back(
                {runs[i].source, "one of the first runs, discarded as asked"});
        else
            kept.push_back(&runs[i]);
        for (auto const& w : runs[i].warnings) out.warnings.push_back(w);
    }
    if (kept.empty())
        return fail(Errc::bad_input,
                    "No run is left after discarding.",
                    "--discard",
                    "give more runs or discard fewer");

    // Components that the gas holds; a run that lacks one of them is no calibration run.
    std::vector<Standard> used;
    std::vector<ExpectedPeak const*> peaks;
    for (std::size_t k = 0; k < all.size(); ++k) {
        if (all[k].amount <= 0) {
            if (!method.peaks[k].factor_from)
                out.warnings.push_back(
                    fmt::format("The certificate holds no {}; it gets no factor.",
                                gas::name(method.peaks[k].component)));
            continue;
        }
        bool const seen = std::any_of(kept.begin(), kept.end(), [&](auto const* run) {
            return run->find(all[k].peak) != nullptr;
        });
        if (!seen)
            return fail(Errc::bad_input,
                        fmt::format("No run has a peak of {}, which the certificate holds.",
                                    gas::name(all[k].peak)),
                        kept.front()->source,
                        "check the retention windows of the method and the valve programme");
        used.push_back(all[k]);
        peaks.push_back(&method.peaks[k]);
    }
    if (used.empty())
        return fail(Errc::bad_input,
                    "The certificate holds nothing that the method measures.",
                    "cylinder " + cylinder.serial,
                    "give the right cylinder");
    for (std::size_t i = 0; i < kept.size();) {
        auto const lacking = std::find_if(used.begin(), used.end(), [&](Standard const& s) {
            auto const* area = kept[i]->find(s.peak);
            return area == nullptr || !(area->area > 0);
        });
        if (lacking == used.end()) {
            ++i;
            continue;
        }
        out.runs_rejected.push_back(
            {kept[i]->source, fmt::format("no positive area of {}", gas::name(lacking->peak))});
        kept.erase(kept.begin() + static_cast<std::ptrdiff_t>(i));
    }
    if (kept.empty())
        return fail(Errc::bad_input,
                    fmt::format("No run is complete: {}.", out.runs_rejected.back().reason),
                    out.runs_rejected.back().source,
                    "check the traces against the method");

    std::vector<gas::Component> components;
    components.reserve(used.size());
    for (auto const& s : used) components.push_back(s.peak);
    auto const rejected = outliers(kept, components, options.outlier_alpha);
    std::vector<RunAreas const*> good;
    for (std::size_t i = 0; i < kept.size(); ++i) {
        auto const hit = std::find_if(
            rejected.begin(), rejected.end(), [&](auto const& r) { return r.first == i; });
        if (hit == rejected.end()) {
            good.push_back(kept[i]);
            out.runs_used.push_back(kept[i]->source);
        } else {
            out.runs_rejected.push_back({kept[i]->source, hit->second});
        }
    }

    std::size_t const n = good.size(), m = used.size();
    std::vector<double> ln_mean(m, 0.0);
    std::vector<std::vector<double>> ln_area(m);
    for (std::size_t k = 0; k < m; ++k) {
        std::vector<double> areas;
        double retention = 0, u = 0;
        for (auto const* run : good) {
            auto const* area = run->find(components[k]);
            areas.push_back(area->area);
            ln_area[k].push_back(std::log(area->area));
            retention += area->retention_s / static_cast<double>(n);
            u = std::max(u, area->u);
        }
        Factor f;
        f.component = components[k];
        f.detector = peaks[k]->detector;
        f.retention_s = retention;
        f.value = metrology::mean(areas) / used[k].amount;
        f.repeatability = n > 1 ? metrology::standard_deviation(areas) / metrology::mean(areas)
                                : u / areas.front();
        out.factors.push_back(f);
        ln_mean[k] = metrology::mean(ln_area[k]);
    }
    out.run_covariance = SquareMatrix(m);
    for (std::size_t a = 0; a < m; ++a)
        for (std::size_t b = 0; b < m; ++b) {
            double sum = 0;
            for (std::size_t i = 0; i < n; ++i)
                sum += (ln_area[a][i] - ln_mean[a]) * (ln_area[b][i] - ln_mean[b]);
            out.run_covariance(a, b) = n > 1    ? sum / static_cast<double>(n - 1)
                                       : a == b ? std::pow(out.factors[a].repeatability, 2)
                                                : 0.0;
        }
    out.relative_covariance = SquareMatrix(m);
    auto const certified = certified_gas(cylinder);
    if (!certified.V.empty()) {
        out.relative_covariance = amount_covariance(used, certified);
    } else {
        out.warnings.push_back(
            "The certificate states no uncertainty: that of the factors holds the scatter of the "
            "runs alone.");
    }
    for (std::size_t a = 0; a < m; ++a) {
        for (std::size_t b = 0; b < m; ++b)
            out.relative_covariance(a, b) += out.run_covariance(a, b) / static_cast<double>(n);
        out.factors[a].u =
            out.factors[a].value * std::sqrt(std::max(0.0, out.relative_covariance(a, a)));
    }
    if (n == 1)
        out.warnings.push_back(
            "One run only: its repeatability is not known, only the uncertainty of its areas.");

    // Factors that the gas does not give come from another component's.
    for (auto const& peak : method.peaks) {
        if (!peak.factor_from || out.find(peak.component) != nullptr) continue;
        auto const parent =
            std::find_if(out.factors.begin(), out.factors.end(), [&](Factor const& f) {
                return f.component == peak.factor_from->component;
            });
        if (parent == out.factors.end()) {
            out.warnings.push_back(fmt::format("{} takes its factor from {}, which has none.",
                                               gas::name(peak.component),
                                               gas::name(peak.factor_from->component)));
            continue;
        }
        auto const from = static_cast<std::size_t>(parent - out.factors.begin());
        double const relative = peak.factor_from->u / peak.factor_from->ratio;
        auto const grown = [&](SquareMatrix const& V, double own) {
            SquareMatrix W(V.size() + 1);
            for (std::size_t a = 0; a < V.size(); ++a)
                for (std::size_t b = 0; b < V.size(); ++b) W(a, b) = V(a, b);
            for (std::size_t a = 0; a < V.size(); ++a) W(a, V.size()) = W(V.size(), a) = V(from, a);
            W(V.size(), V.size()) = V(from, from) + own * own;
            return W;
        };
        Factor f = *parent;
        f.component = peak.component;
        f.value *= peak.factor_from->ratio;
        f.u = std::hypot(parent->u * peak.factor_from->ratio, parent->value * peak.factor_from->u);
        f.retention_s = peak.retention_s;
        f.detector = peak.detector;
        f.borrowed = true;
        out.relative_covariance = grown(out.relative_covariance, relative);
        out.run_covariance = grown(out.run_covariance, 0);
        out.factors.push_back(f);
    }
    out.characterisation = method.characterisation;
    // The heavy end of the calibration gas: what its C6+ factor belongs to.
    if (auto const* plus = method.find(gas::c6_plus)) {
        double total = 0;
        for (std::size_t i = 0; i < cylinder.printed.components.size(); ++i) {
            auto const c = cylinder.printed.components[i];
            if (c != gas::c6_plus && method.peak_of(c) == plus) total += cylinder.printed.x[i];
        }
        if (total > 0) {
            for (std::size_t i = 0; i < cylinder.printed.components.size(); ++i) {
                auto const c = cylinder.printed.components[i];
                if (c != gas::c6_plus && method.peak_of(c) == plus)
                    out.heavy_end.parts.emplace_back(c, cylinder.printed.x[i] / total);
            }
            out.heavy_end.origin = "calibration gas " + cylinder.serial;
        }
    }
    return out;
}

}  // namespace gw::assay
