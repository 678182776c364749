// Bias on a certified gas, with the uncertainty of both cylinders.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "gas/property_sums.hpp"
#include "visit/proof_series.hpp"

namespace gw::visit {

namespace {

// Covariance of the mean composition that all runs share: calibration gas and calibration runs.
std::optional<SquareMatrix> calibration_covariance(ProofInputs const& in,
                                                   gas::Composition const& mean,
                                                   bool& certificate_silent) {
    std::size_t const n = mean.components.size();
    SquareMatrix relative(n);
    auto const* cylinder = in.calibration_cylinder ? &*in.calibration_cylinder : nullptr;
    if (in.method && in.calibration) {
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = 0; b < n; ++b) {
                auto const *fa = in.calibration->find(mean.components[a]),
                           *fb = in.calibration->find(mean.components[b]);
                if (fa != nullptr && fb != nullptr)
                    relative(a, b) = in.calibration->relative_covariance(
                        static_cast<std::size_t>(fa - in.calibration->factors.data()),
                        static_cast<std::size_t>(fb - in.calibration->factors.data()));
            }
        if (cylinder != nullptr && cylinder->uncertainty == assay::CertificateUncertainty::none)
            certificate_silent = true;
    } else if (cylinder != nullptr) {
        // Every printed amount is the certified one times a ratio of areas: its relative error is
        // the certificate's.
        auto const certified =
            certified_amounts(*cylinder, mean.components, in.method ? &*in.method : nullptr);
        if (certified.V.empty()) {
            certificate_silent = true;
            return std::nullopt;
        }
        for (std::size_t a = 0; a < n; ++a)
            for (std::size_t b = 0; b < n; ++b)
                if (certified.x[a] > 0 && certified.x[b] > 0)
                    relative(a, b) = certified.V(a, b) / (certified.x[a] * certified.x[b]);
    } else {
        return std::nullopt;
    }
    gas::Composition raw = mean;
    raw.V = SquareMatrix(n);
    for (std::size_t a = 0; a < n; ++a)
        for (std::size_t b = 0; b < n; ++b) raw.V(a, b) = relative(a, b) * mean.x[a] * mean.x[b];
    return gas::normalised(raw).V;
}

// Errors a + c and b + c of two certificates on one parent: the bias holds a - b, so that c
// cancels, yet the gas is wrong by it. The covariance c^2 lies between nothing and the smaller of
// the two variances and no certificate states it. It would take 2 c^2 from the variance of the
// difference; the truth, which is what is judged, is further off by the same c on either side: U
// keeps both certificates in full and takes no credit for what cancels.
std::string unseen_words(double u, char const* unit) {
    return fmt::format(
        "Nothing states that the two cylinders share no parent: an error of up to u = {:.2g} {} "
        "common to both certificates cancels here and would not show; U takes no credit for it. ",
        u,
        unit);
}

}  // namespace

bool shares_parent(ProofInputs const& in) {
    if (!in.calibration_cylinder || !in.proving_cylinder) return false;
    auto const& a = *in.calibration_cylinder;
    auto const& b = *in.proving_cylinder;
    auto const states = [](assay::Cylinder const& one, assay::Cylinder const& other) {
        for (auto const& name : one.independent_of)
            if (name == other.serial || (!other.laboratory.empty() && name == other.laboratory))
                return true;
        return false;
    };
    if (states(a, b) || states(b, a)) return false;
    return a.laboratory.empty() || b.laboratory.empty() || a.laboratory == b.laboratory;
}

std::string percent_id(std::string_view kind, gas::Component c) {
    return fmt::format("{}:{}", kind, gas::name(c));
}

Result<Series> series(std::vector<ProofRun> const& runs,
                      Valuation const& how,
                      std::vector<std::string>& warnings) {
    Series out;
    for (auto const& run : runs) {
        GW_TRY(auto value, valued(run, how, warnings));
        out.cv.push_back(value.cv);
        out.runs.push_back(std::move(value));
    }
    if (out.runs.empty()) return out;
    for (auto const c : out.runs.front().gas.components) {
        std::vector<double> each;
        for (auto const& r : out.runs) {
            auto const& names = r.gas.components;
            if (std::find(names.begin(), names.end(), c) != names.end())
                each.push_back(r.gas.fraction(c));
        }
        if (each.size() != out.runs.size()) {
            warnings.push_back(fmt::format(
                "Not every run on this gas reports {}; it is left out of the component findings.",
                gas::name(c)));
            continue;
        }
        out.components.push_back(c);
        out.mean.components.push_back(c);
        out.mean.x.push_back(metrology::mean(each));
        out.x.push_back(std::move(each));
    }
    return out;
}

Result<Bias> cv_bias(ProofInputs const& in,
                     Series const& runs,
                     assay::Cylinder const& cylinder,
                     bool self,
                     std::vector<std::string>& warnings) {
    Bias out;
    GW_TRY(auto const certified, assay::certified_calorific_value(cylinder, in.reference));
    double const reference = certified.value;
    out.value = 100 * (runs.cv_mean() / reference - 1);
    std::vector<double> u, df;
    if (runs.n() >= 2) {
        u.push_back(runs.cv_sd() / std::sqrt(runs.n()));
        df.push_back(runs.n() - 1);
    } else if (!runs.runs.front().gas.V.empty()) {
        auto const heavy = heavy_end_of(cylinder, in.method ? &*in.method : nullptr);
        GW_TRY(auto const slope, lumped_cv_gradient(runs.runs.front().gas, heavy, in.reference));
        u.push_back(std::sqrt(quadratic_form(runs.runs.front().gas.V, slope.per_fraction)));
        df.push_back(0);
        out.note = "One run: its scatter is taken from the calibration. ";
    } else {
        out.note = "One run: its scatter is not known. ";
        return out;
    }
    if (self) {  // the certificate stands on both sides and cancels
        out.u = 100 * u.front() / reference;
        out.degrees_of_freedom = df.front();
        out.note += "Shows only that the analyser repeats what it was told.";
        return out;
    }
    bool silent = cylinder.uncertainty == assay::CertificateUncertainty::none;
    double of_certificate = 0, of_calibration = 0;
    if (certified.u) {
        of_certificate = *certified.u;
        u.push_back(*certified.u), df.push_back(0);
    }
    bool calibration_silent = false;
    if (auto const V = calibration_covariance(in, runs.mean, calibration_silent)) {
        auto const heavy = heavy_end_of(cylinder, in.method ? &*in.method : nullptr);
        GW_TRY(auto const slope, lumped_cv_gradient(runs.mean, heavy, in.reference));
        of_calibration = std::sqrt(quadratic_form(*V, slope.per_fraction));
        u.push_back(of_calibration);
        df.push_back(0);
    } else if (!in.calibration_cylinder) {
        warnings.emplace_back(
            "No calibration cylinder is named: its certificate is not in the uncertainty of the "
            "bias.");
    }
    silent = silent || calibration_silent;
    double squares = 0;
    for (double const each : u) squares += each * each;
    if (!silent) {
        out.u = 100 * std::sqrt(squares) / reference;
        out.degrees_of_freedom = metrology::effective_degrees_of_freedom(u, df);
        if (shares_parent(in)) {
            out.u_unseen = 100 * std::min(of_certificate, of_calibration) / reference;
            out.note += unseen_words(*out.u_unseen, "%");
        }
    } else {
        out.note += "A certificate states no uncertainty, so conformity cannot be shown. ";
    }
    return out;
}

void add_bias(Judge& judge,
              std::string const& id,
              std::string const& title,
              std::string const& gas,
              Series const& runs,
              Bias const& bias) {
    Finding f;
    f.id = id;
    f.title = title;
    f.unit = "%";
    f.value = bias.value;
    f.u = bias.u;
    f.gas = gas;
    f.n = runs.n();
    f.inputs = runs.hashes();
    f.note = std::string(trimmed(bias.note));
    judge.add(std::move(f), bias.degrees_of_freedom);
}

// Bias of Wobbe index and density on the proving gas: the same terms as for the calorific value,
// each through its own gradient.
Result<> add_property_bias(Judge& judge, Series const& runs, assay::Cylinder const& cylinder) {
    auto const& in = judge.in;
    auto const* reference = std::get_if<gas::Iso6976Options>(&in.reference);
    if (reference == nullptr) return {};  // GPA 2172 states neither with its uncertainty
    auto const* method = in.method ? &*in.method : nullptr;
    auto heavy = heavy_end_of(cylinder, method);
    if (heavy.parts.empty()) heavy = gas::default_characterisation();
    auto const certified = certified_amounts(cylinder, runs.components, method);
    bool silent = certified.V.empty() || runs.n() < 2;
    auto const common = calibration_covariance(in, runs.mean, silent);
    GW_TRY(auto const sums, gas::PropertySums::prepare(runs.components, heavy, *reference));
    std::size_t const n = runs.components.size();
    auto const scaled = [](std::vector<double> x) {
        double total = 0;
        for (double const each : x) total += each;
        for (double& each : x) each /= total;
        return x;
    };
    std::vector<double> gradient(gas::real_property_count * n);
    auto const truth = sums.values(scaled(certified.x), gradient);
    std::vector<gas::PropertySums::Values> each;
    for (std::size_t r = 0; r < runs.runs.size(); ++r) {
        std::vector<double> x(n);
        for (std::size_t i = 0; i < n; ++i) x[i] = runs.x[i][r];
        each.push_back(sums.values(scaled(std::move(x))));
    }
    struct Row {
        char const *id, *title;
        gas::RealProperty property;
    };
    for (auto const& row :
         {Row{"wobbe_bias", "Wobbe index on the proving gas", gas::RealProperty::gross_wobbe},
          Row{"density_bias", "Density on the proving gas", gas::RealProperty::density}}) {
        auto const p = static_cast<std::size_t>(row.property);
        std::vector<double> values;
        for (auto const& v : each) values.push_back(100 * (v[p] / truth[p] - 1));
        std::span<double const> const g(gradient.data() + p * n, n);
        Finding f;
        f.id = row.id;
        if (!in.criteria.find(f.id))
            f.note =
                "The criteria set states no limit; a contract that has one goes into a set that "
                "extends it.";
        f.title = row.title;
        f.unit = "%";
        f.gas = "proving";
        f.n = runs.n();
        f.inputs = runs.hashes();
        f.value = metrology::mean(values);
        double df = 0;
        if (!silent) {
            auto const percent = [&](SquareMatrix const& V) {
                return 100 * std::sqrt(quadratic_form(V, g)) / truth[p];
            };
            std::vector<double> const u = {
                metrology::standard_deviation(values) / std::sqrt(runs.n()),
                percent(certified.V),
                common ? percent(*common) : 0.0};
            std::vector<double> const freedom = {static_cast<double>(runs.n() - 1), 0, 0};
            f.u = std::sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2]);
            df = metrology::effective_degrees_of_freedom(u, freedom);
        }
        judge.add(std::move(f), df);
    }
    return {};
}

void add_component_bias(Judge& judge,
                        Series const& proving,
                        assay::Cylinder const& cylinder,
                        std::vector<std::string>& warnings) {
    auto const& in = judge.in;
    auto const certified =
        certified_amounts(cylinder, proving.components, in.method ? &*in.method : nullptr);
    for (auto const c : certified.unnamed)
        warnings.push_back(
            fmt::format("The proving gas holds {}, which the runs do not report.", gas::name(c)));
    bool silent = certified.V.empty();
    bool calibration_silent = false;
    auto const common = calibration_covariance(in, proving.mean, calibration_silent);
    silent = silent || calibration_silent;
    for (std::size_t i = 0; i < proving.components.size(); ++i) {
        Finding f;
        f.id = percent_id("component_bias", proving.components[i]);
        f.title = fmt::format("Bias of {}", gas::name(proving.components[i]));
        f.unit = "mol%";
        f.gas = "proving";
        f.n = proving.n();
        f.inputs = proving.hashes();
        f.value = 100 * (proving.mean.x[i] - certified.x[i]);
        double const scatter = metrology::standard_deviation(proving.x[i]) / std::sqrt(proving.n());
        double df = 0;
        if (!silent && proving.n() >= 2) {
            std::vector<double> const u = {
                scatter,
                std::sqrt(std::max(0.0, certified.V(i, i))),
                common ? std::sqrt(std::max(0.0, (*common)(i, i))) : 0.0};
            std::vector<double> const each = {static_cast<double>(proving.n() - 1), 0, 0};
            f.u = 100 * std::sqrt(u[0] * u[0] + u[1] * u[1] + u[2] * u[2]);
            df = metrology::effective_degrees_of_freedom(u, each);
            if (shares_parent(in))
                f.note = std::string(trimmed(unseen_words(100 * std::min(u[1], u[2]), "mol%")));
        }
        judge.add(std::move(f), df);
    }
}

}  // namespace gw::visit
