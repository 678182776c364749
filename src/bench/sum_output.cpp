// A sum as data and as text.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "bench/sum.hpp"

namespace gw::bench {

namespace {

struct Shown {
    SumResult const* result{};
    std::string unit;
    double value{}, u{};
};

Result<std::vector<Shown>> shown(Sum const& sum, Show const& show) {
    std::vector<Shown> out;
    for (auto const& [key, unit] : show) {
        auto const at = std::find_if(
            sum.results.begin(), sum.results.end(), [wanted = &key](SumResult const& r) {
                return r.key == *wanted;
            });
        if (at == sum.results.end())
            return fail(Errc::bad_input,
                        fmt::format("There is no result \"{}\".", key.substr(0, 40)),
                        "--show",
                        "name one of the results");
        if (find_unit(unit, at->dimension) == nullptr)
            return fail(Errc::bad_input,
                        fmt::format("\"{}\" is no unit of {}.", unit.substr(0, 20), key),
                        "--show",
                        "take one of " + unit_names(at->dimension));
    }
    for (auto const& r : sum.results) {
        auto const wanted = show.find(r.key);
        auto const unit = wanted == show.end() ? r.unit : wanted->second;
        // A unit outside the table (as K of a difference) is its own SI value.
        out.push_back({&r,
                       unit,
                       in_unit(r.si.value, unit, r.dimension),
                       u_in_unit(r.si.u, unit, r.dimension)});
    }
    return out;
}

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

Json inputs_json(SumInputs const& in) {
    Json out = Json::object();
    if (!in.name.empty()) out["name"] = in.name;
    for (auto const& [key, value] : in.values)
        out[key] = {{"written", value.text}, {"si", value.si.value}, {"u_si", value.si.u}};
    for (auto const& [key, gas] : in.gases) out[key] = gas.first;
    for (auto const& [key, list] : in.lists) {
        Json rows = Json::array();
        for (auto const& one : list) rows.push_back(inputs_json(one));
        out[key] = std::move(rows);
    }
    return out;
}

}  // namespace

Result<Json> sum_json(SumKind const& kind, SumInputs const& in, Sum const& sum, Show const& show) {
    GW_TRY(auto const rows, shown(sum, show));
    Json results = Json::object(), findings = Json::array(), warnings = Json::array();
    for (auto const& r : rows) {
        Json one{{"value", number(r.value)}, {"u", number(r.u)}, {"unit", r.unit}};
        if (!r.result->exact) {
            one["low"] = number(r.value - 2 * r.u);
            one["high"] = number(r.value + 2 * r.u);
        }
        one["title"] = r.result->title;
        one["dimension"] = name(r.result->dimension);
        results[r.result->key] = std::move(one);
    }
    for (auto const& f : sum.findings) findings.push_back(metrology::finding_json(f));
    for (auto const* list : {&in.warnings, &sum.warnings})
        for (auto const& w : *list) warnings.push_back(w);
    Json out{{"sum", kind.name},
             {"title", kind.title},
             {"formula", kind.formula},
             {"source", kind.source},
             {"inputs", inputs_json(in)},
             {"results", results},
             {"findings", findings}};
    if (!sum.findings.empty()) {
        auto required = sum.findings;
        for (auto& f : required) f.required = true;
        out["verdict"] = std::string(metrology::name(metrology::overall(required)));
    }
    if (!kind.caution.empty()) out["caution"] = kind.caution;
    out["warnings"] = std::move(warnings);
    return out;
}

Result<std::string> sum_text(SumKind const& kind,
                             SumInputs const& in,
                             Sum const& sum,
                             Show const& show) {
    GW_TRY(auto const rows, shown(sum, show));
    std::string out = fmt::format("{}\n", kind.title);
    auto const given = [&](SumInputs const& some, char const* indent) {
        for (auto const& [key, value] : some.values)
            out += fmt::format("{}{:<24}{}\n", indent, key, value.text);
        for (auto const& [key, gas] : some.gases)
            out += fmt::format("{}{:<24}{}\n", indent, key, gas.first);
    };
    given(in, "  ");
    for (auto const& [key, list] : in.lists)
        for (auto const& one : list) {
            out += fmt::format("  {}\n", one.name);
            given(one, "    ");
        }
    out += "\n";
    for (auto const& r : rows) {
        auto const value = fmt::format("{:.5g}", r.value);
        auto const u = r.result->exact || !(r.u > 0) ? std::string()
                                                     : fmt::format(" +- {:.2g} (k = 2)", 2 * r.u);
        out += fmt::format(
            "  {:<44} {}{} {}\n", r.result->title, value, u, r.unit == "1" ? "" : r.unit);
    }
    if (!sum.findings.empty()) out += "\n" + metrology::findings_table(sum.findings);
    out += fmt::format("\nFormula: {}\nSource: {}\n", kind.formula, kind.source);
    if (!kind.caution.empty()) out += fmt::format("Caution: {}\n", kind.caution);
    return out;
}

}  // namespace gw::bench
