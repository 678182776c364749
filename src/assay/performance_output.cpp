#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/performance.hpp"
#include "base/text.hpp"

namespace gw::assay {

namespace {

Json amounts_json(PerformanceSpec const& spec, std::vector<double> const& x) {
    Json out = Json::object();
    for (std::size_t i = 0; i < x.size(); ++i)
        out[std::string(gas::name(spec.components[i]))] = x[i];
    return out;
}

Json function_json(ResponseFunction const& f) {
    auto const coefficients = f.fit.coefficients();
    auto const V = f.fit.covariance();
    Json covariance = Json::array();
    for (std::size_t i = 0; i < V.size(); ++i) {
        Json row = Json::array();
        for (std::size_t j = 0; j < V.size(); ++j) row.push_back(V(i, j));
        covariance.push_back(std::move(row));
    }
    return Json{
        {"order", f.order},
        {"coefficients", coefficients},
        {"u", standard_uncertainties(V)},
        {"covariance", covariance},
        {"goodness", f.fit.gamma},
        {"chi_squared", f.fit.chi_squared},
        {"degrees_of_freedom", f.fit.degrees_of_freedom},
        {"chi_squared_limit",
         f.fits && f.fit.degrees_of_freedom == 0 ? Json(nullptr) : Json(f.chi_squared_limit)},
        {"fits", f.fits},
        {"gases", f.gases},
        {"through_zero", f.through_zero},
        {"from_percent", f.lowest},
        {"to_percent", f.highest},
        {"scatter",
         {{"value", f.scatter.value},
          {"power", f.scatter.power},
          {"degrees_of_freedom", f.scatter.degrees_of_freedom}}}};
}

}  // namespace

metrology::Verdict performance_verdict(PerformanceSpec const& spec,
                                       Performance const& performance) {
    auto out = metrology::Verdict::no_limit;
    for (std::size_t p = 0; p < gas::real_property_count; ++p) {
        auto const& e = performance.properties[p];
        if (!spec.limit_percent[p] || !e.share_inside) continue;
        if (std::abs(e.largest) > *spec.limit_percent[p]) return metrology::Verdict::fails;
        if (*e.share_inside < 1)
            out = metrology::Verdict::unclear;
        else if (out == metrology::Verdict::no_limit)
            out = metrology::Verdict::meets;
    }
    bool const fits = std::all_of(performance.functions.begin(),
                                  performance.functions.end(),
                                  [](ResponseFunction const& f) { return f.fits; });
    return out == metrology::Verdict::meets && !fits ? metrology::Verdict::unclear : out;
}

Json performance_json(PerformanceSpec const& spec, Performance const& performance) {
    Json functions = Json::object(), components = Json::object(), properties = Json::object();
    for (std::size_t i = 0; i < spec.components.size(); ++i) {
        auto const name = std::string(gas::name(spec.components[i]));
        auto const& e = performance.components[i];
        functions[name] = function_json(performance.functions[i]);
        components[name] = {
            {"mean_error", e.mean}, {"largest_error", e.largest}, {"u", e.u}, {"unit", "mol%"}};
    }
    for (std::size_t p = 0; p < gas::real_property_count; ++p) {
        auto const& e = performance.properties[p];
        properties[std::string(gas::name(gas::RealProperty(p)))] = {
            {"mean_error_percent", e.mean},
            {"largest_error_percent", e.largest},
            {"u_percent", e.u},
            {"limit_percent", spec.limit_percent[p] ? Json(*spec.limit_percent[p]) : Json(nullptr)},
            {"share_inside", e.share_inside ? Json(*e.share_inside) : Json(nullptr)}};
    }
    Json by_gas = Json::array();
    for (auto const& score : performance.by_reference_gas)
        by_gas.push_back(score.x.empty() ? Json(nullptr)
                                         : Json{{"rms_error_percent", score.rms_percent},
                                                {"largest_error_percent", score.largest_percent}});
    Json design = Json::array();
    for (auto const& gas : performance.design) design.push_back(amounts_json(spec, gas));
    auto const& best = performance.best_calibration_gas;
    return Json{{"verdict", std::string(metrology::name(performance_verdict(spec, performance)))},
                {"functions", functions},
                {"components", components},
                {"properties", properties},
                {"calibration_gas", spec.calibration_gas},
                {"largest_error_at", amounts_json(spec, performance.worst)},
                {"calibration_gases",
                 {{"by_reference_gas", by_gas},
                  {"best_reference_gas", performance.best_reference_gas},
                  {"best_of_range",
                   {{"components", amounts_json(spec, best.x)},
                    {"rms_error_percent", best.rms_percent},
                    {"largest_error_percent", best.largest_percent}}}}},
                {"design", design},
                {"compositions", spec.compositions},
                {"seed", spec.seed},
                {"reduced", performance.reduced},
                {"warnings", performance.warnings}};
}

std::string performance_text(PerformanceSpec const& spec, Performance const& performance) {
    std::string out = fmt::format(
        "Performance evaluation after ISO 10723: {} reference gases, {} compositions, calibrated "
        "on gas {}\n\n",
        spec.gases.size(),
        spec.compositions,
        spec.calibration_gas);
    if (performance.reduced)
        out +=
            "A reduced evaluation: there are too few reference gases for the standard. The "
            "uncertainty is widened accordingly.\n\n";
    out += fmt::format("{:<18}{:>6}{:>10}{:>14}{:>14}{:>12}\n",
                       "component",
                       "order",
                       "goodness",
                       "mean error",
                       "largest error",
                       "u, mol%");
    for (std::size_t i = 0; i < spec.components.size(); ++i) {
        auto const& f = performance.functions[i];
        auto const& e = performance.components[i];
        out += fmt::format("{:<18}{:>6}{:>10}{:>14}{:>14}{:>12}{}\n",
                           gas::name(spec.components[i]),
                           f.order,
                           fixed(f.fit.gamma, 2),
                           fixed(e.mean, 5),
                           fixed(e.largest, 5),
                           fixed(e.u, 5),
                           f.fits ? "" : "  does not fit");
    }
    out += fmt::format("\n{:<18}{:>14}{:>14}{:>12}{:>10}{:>14}\n",
                       "property",
                       "mean error %",
                       "largest %",
                       "u %",
                       "limit %",
                       "share inside");
    for (std::size_t p = 0; p < gas::real_property_count; ++p) {
        auto const& e = performance.properties[p];
        out += fmt::format("{:<18}{:>14}{:>14}{:>12}{:>10}{:>14}\n",
                           gas::name(gas::RealProperty(p)),
                           fixed(e.mean, 4),
                           fixed(e.largest, 4),
                           fixed(e.u, 4),
                           spec.limit_percent[p] ? shortest(*spec.limit_percent[p]) : "-",
                           e.share_inside ? fixed(*e.share_inside, 4) : "-");
    }
    out += fmt::format(
        "\nBest calibration gas among the reference gases: {} (rms error of the calorific value "
        "{} %, of the present one {} %)\nBest of the whole range, rms {} %, mol%:",
        performance.best_reference_gas,
        fixed(performance.by_reference_gas[performance.best_reference_gas].rms_percent, 4),
        fixed(performance.by_reference_gas[spec.calibration_gas].rms_percent, 4),
        fixed(performance.best_calibration_gas.rms_percent, 4));
    for (std::size_t i = 0; i < spec.components.size(); ++i)
        out += fmt::format(" {} {}",
                           gas::name(spec.components[i]),
                           fixed(100 * performance.best_calibration_gas.x[i], 3));
    return out +
           fmt::format("\nVerdict: {}\n", metrology::name(performance_verdict(spec, performance)));
}

}  // namespace gw::assay
