#include "desk/sum_page.hpp"

#include <fmt/format.h>

#include <memory>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "bench/misstatement.hpp"

namespace gw::desk {

namespace {

using bench::Dimension;
using bench::Sum;
using bench::SumField;
using bench::SumInputs;
using bench::SumKind;

// What `bench misstatement` does for a steady flow, in the form of the other sums. Its command has
// options of its own, as volumes come in a file there.
constexpr SumField misstatement_fields[] = {
    {"flow", "steady flow at the metering conditions", Dimension::flow, "m3/d", true},
    {"cv", "calorific value as indicated", Dimension::energy, "MJ/m3", true},
    {"error", "error as found, indicated less true", Dimension::fraction, "%", true},
    {"known", "time since the error began, where that is known", Dimension::time, "d"},
    {"last_good", "else time since the last good check: half of it counts", Dimension::time, "d"},
    {"cap", "most that the half may be", Dimension::time, "d"},
    {"volume_error",
     "zero, its +- the standard uncertainty of the volumes",
     Dimension::fraction,
     "%"},
    {"price", "price of a MWh, in any money", Dimension::number, "1"},
};

Result<Sum> misstatement(SumInputs const& in) {
    bench::MisstatementInputs m;
    if (in.has("known") == in.has("last_good"))
        return fail(Errc::bad_input,
                    "The onset is needed once: known, or by the last good check.",
                    in.has("known") ? "last_good" : "known",
                    "give one of the two");
    double const back = in.of("known").value + in.of("last_good").value;
    if (!(back > 0))
        return fail(Errc::out_of_range,
                    "The error began before it was found.",
                    in.has("known") ? "known" : "last_good",
                    "give a time above zero");
    if (!(in.of("flow").value > 0))
        return fail(Errc::out_of_range, "The flow is above zero.", "flow", "give m3 a day");
    if (!(in.of("cv").value > 0))
        return fail(Errc::out_of_range, "The calorific value is above zero.", "cv");
    m.found_s = back;
    if (in.has("known")) {
        m.onset.at_s = 0;
    } else {
        m.onset.rule = bench::OnsetRule::half_period;
        m.onset.last_good_s = 0;
        if (in.has("cap")) m.onset.cap_s = in.of("cap").value;
    }
    m.gas.push_back({0, back, in.of("flow").value * back, in.of("cv").value / 1e6});
    m.error_percent = {100 * in.of("error").value, 100 * in.of("error").u};
    m.volume_u_percent = 100 * in.of("volume_error").u;
    if (in.has("price")) m.price_per_mwh = in.of("price").value;
    GW_TRY(auto const r, bench::misstatement(m));
    Sum out;
    auto const add = [&](char const* key, char const* title, Measured value, char const* unit) {
        out.add(key, title, value, Dimension::number, unit);
    };
    add("misstatement", "energy indicated less true", r.mwh, "MWh");
    add("indicated", "energy indicated in that time", {r.indicated_mwh, 0}, "MWh");
    out.add("time", "time that counts", {r.to_s - r.from_s, 0}, Dimension::time, "d");
    add("linear", "energy times error, as contracts often word it", {r.linear_mwh, 0}, "MWh");
    if (r.money) add("money", "the same in money", *r.money, "money");
    for (auto const* key : {"indicated", "time", "linear"})
        for (auto& result : out.results)
            if (result.key == key) result.exact = true;
    out.warnings = r.warnings;
    return out;
}

SumKind const misstatement_kind{
    "misstatement",
    "What a wrong calorific value has cost",
    "sum of V Hv e / (1 + e), e = indicated / true - 1",
    "onset known, or by the half-period rule of supply contracts with its cap (common practice, no "
    "source)",
    "gaswright bench misstatement --flow 1200000 --cv 39.5 --error -0.35 --last-good 0 --found 46",
    "",
    misstatement_fields,
    misstatement};

Json field_json(SumField const& field) {
    Json entries = Json::array();
    for (auto const& entry : field.entries) entries.push_back(field_json(entry));
    return Json{{"key", field.key},
                {"help", field.help},
                {"form",
                 field.form == SumField::Form::quantity ? "quantity"
                 : field.form == SumField::Form::gas    ? "gas"
                                                        : "list"},
                {"dimension", bench::name(field.dimension)},
                {"unit", field.unit},
                {"required", field.required},
                {"entries", std::move(entries)}};
}

Json kind_json(SumKind const& kind) {
    Json fields = Json::array();
    for (auto const& field : kind.fields) fields.push_back(field_json(field));
    return Json{{"name", kind.name},
                {"title", kind.title},
                {"formula", kind.formula},
                {"source", kind.source},
                {"caution", kind.caution},
                {"fields", std::move(fields)}};
}

// "inputs:streams[0].flow" to "streams[0].flow"; an option's name to its field's.
Error at_field(Error error) {
    for (auto const* prefix : {"inputs:", "--"})
        if (error.where.rfind(prefix, 0) == 0) error.where.erase(0, std::string(prefix).size());
    return error;
}

Result<gas::Composition> no_file(std::string const& name, std::string const& where) {
    return fail(Errc::bad_input,
                fmt::format("\"{}\" is no component.", name.substr(0, 60)),
                where,
                "name one, as methane, or give the composition");
}

}  // namespace

SumKind const* find_page_sum(std::string_view name) {
    return name == misstatement_kind.name ? &misstatement_kind : bench::find_sum(name);
}

Json sums_json() {
    Json sums = Json::array(), units = Json::array();
    for (auto const& kind : bench::sum_kinds()) sums.push_back(kind_json(kind));
    sums.push_back(kind_json(misstatement_kind));
    for (auto const& row : bench::unit_rows())
        units.push_back({{"name", row.name},
                         {"dimension", bench::name(row.dimension)},
                         {"factor", row.factor},
                         {"offset", row.offset},
                         {"gauge", row.gauge}});
    return Json{{"sums", std::move(sums)}, {"units", std::move(units)}};
}

Result<Json> page_sum(std::string const& name, Json const& inputs, Json const& show) {
    auto const* kind = find_page_sum(name);
    if (kind == nullptr)
        return fail(Errc::not_found, "There is no such sum.", name, "see the list of sums");
    Document const document(std::make_shared<Json const>(inputs), "inputs");
    if (!document.root().is_object())
        return fail(Errc::bad_input, "The inputs are an object of fields.", "inputs");
    bench::Show wanted;
    if (show.is_object())
        for (auto const& [key, unit] : show.items())
            if (unit.is_string()) wanted[key] = unit.get<std::string>();
    auto const in = bench::read_sum_inputs(*kind, document.root(), {}, no_file);
    if (!in) return pass_on(at_field(in.error()));
    auto const sum = bench::worked(*kind, *in);
    if (!sum) return pass_on(at_field(sum.error()));
    return bench::sum_json(*kind, *in, *sum, wanted);
}

Result<KeptSum> kept_sum(std::string const& name, Json const& inputs, Json const& show) {
    GW_TRY(auto const answer, page_sum(name, inputs, show));
    Json file{{"schema", fmt::format("gaswright.bench-{}/1", name)}};
    for (auto const& [key, value] : inputs.items()) file[key] = value;
    std::string says = answer["title"].get<std::string>() + ":";
    constexpr int most = 3;  // the leading results; all of them follow from the file
    int said = 0;
    for (auto const& [key, result] : answer["results"].items()) {
        if (!result["value"].is_number() || ++said > most) continue;
        says += fmt::format("{} {} {:.4g}",
                            says.back() == ':' ? "" : ",",
                            result["title"].get<std::string>(),
                            result["value"].get<double>());
        if (result.contains("high") && result["u"].is_number() && result["u"].get<double>() > 0)
            says += fmt::format(" +- {:.2g}", 2 * result["u"].get<double>());
        if (result["unit"] != "1") says += " " + result["unit"].get<std::string>();
    }
    return KeptSum{to_text(file), says + " (k = 2)"};
}

}  // namespace gw::desk
