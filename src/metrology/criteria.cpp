#include "metrology/criteria.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "shipped_criteria_files.hpp"

namespace gw::metrology {

namespace {

constexpr std::array about_the_file = {"schema", "name", "title", "note", "extends", "limits"};
constexpr std::array fields_of_a_limit = {
    "low", "high", "unit", "rule", "k", "required", "source", "warn", "note"};
// What the program judges; a limit for anything else is kept but would never be used.
constexpr std::array known_ids = {"cv_bias",
                                  "cv_self_check",
                                  "cv_repeatability",
                                  "component_bias",
                                  "component_repeatability",
                                  "factor_order",
                                  "factor_pattern",
                                  "factor_shift",
                                  "unnormalised_total",
                                  "wobbe_bias",
                                  "density_bias",
                                  "certificate_sum",
                                  "certificate_cv",
                                  "expiry",
                                  "pressure",
                                  "cold_exposure",
                                  "can_decide"};

template <class Names>
bool is_one_of(std::string_view name, Names const& names) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

std::string_view family(std::string_view id) { return id.substr(0, id.find(':')); }

Result<Rule> read_rule(Field const& field) {
    GW_TRY(auto const text, field.text());
    for (auto const rule : {Rule::guarded, Rule::simple})
        if (text == name(rule)) return rule;
    return field.wrong("The rule is neither \"guarded\" nor \"simple\".", "write one of the two");
}

Result<Criterion> read_limit(Field const& field, std::vector<std::string>& warnings) {
    GW_TRY(auto const members, field.members());
    for (auto const& member : members)
        if (!is_one_of(member.first, fields_of_a_limit))
            warnings.push_back(
                fmt::format("{}: not a field of a limit; passed over", member.second.where()));
    Criterion out;
    GW_TRY(out.low, field.optional_number("low"));
    GW_TRY(out.high, field.optional_number("high"));
    if (!out.low && !out.high)
        return field.wrong("The limit is empty: neither \"low\" nor \"high\" is given.",
                           "give one or both");
    if (out.low && out.high && *out.low > *out.high)
        return field.wrong(fmt::format("\"low\" {} is above \"high\" {}.", *out.low, *out.high),
                           "swap them");
    GW_TRY(out.unit, field.text_or("unit", ""));
    if (auto const rule = field.find("rule")) {
        GW_TRY(out.rule, read_rule(*rule));
    }
    if (auto const k = field.find("k")) {
        GW_TRY(out.k, k->number_within(0.1, 10));
    }
    if (auto const required = field.find("required")) {
        GW_TRY(out.required, required->boolean());
    }
    GW_TRY(out.source, field.text_or("source", ""));
    if (trimmed(out.source).empty())
        return field.wrong(
            "The limit has no \"source\".",
            "name the standard, contract or rule, or write \"common practice, no source\"");
    GW_TRY(out.warn, field.optional_number("warn"));
    GW_TRY(out.note, field.text_or("note", ""));
    return out;
}

Result<> add_limit(CriteriaSet& set, std::string const& id, Field const& field) {
    if (field.is_null()) {  // takes an inherited limit away
        set.limits.erase(id);
        return {};
    }
    if (!is_one_of(family(id), known_ids))
        set.warnings.push_back(
            fmt::format("{}: no finding of this program has this id", field.where()));
    GW_TRY(auto limit, read_limit(field, set.warnings));
    set.limits.insert_or_assign(id, std::move(limit));
    return {};
}

}  // namespace

Criterion const* CriteriaSet::find(std::string_view finding_id) const {
    if (auto const own = limits.find(std::string(finding_id)); own != limits.end())
        return &own->second;
    if (finding_id.find(':') == std::string_view::npos) return nullptr;
    auto const any = limits.find(std::string(family(finding_id)) + ":*");
    return any == limits.end() ? nullptr : &any->second;
}

Result<CriteriaSet> read_criteria(Field const& root) {
    GW_CHECK(require_schema(root, "criteria"));
    CriteriaSet set;
    if (auto const base = root.find("extends")) {
        GW_TRY(auto const name, base->text());
        auto inherited = shipped_criteria(name);
        if (!inherited) return base->wrong(inherited.error().what, inherited.error().mend);
        set = *std::move(inherited);
    }
    GW_TRY(set.name, root.text_or("name", ""));
    GW_TRY(set.title, root.text_or("title", ""));
    std::size_t count = 0;
    GW_TRY(auto const members, root.members());
    for (auto const& [id, field] : members) {
        if (is_one_of(id, about_the_file)) continue;
        if (!field.is_object() && !field.is_null())
            return field.wrong("This is not a limit.",
                               "write {\"low\": ..., \"high\": ..., \"source\": ...}");
        GW_CHECK(add_limit(set, id, field));
        ++count;
    }
    if (auto const block = root.find("limits")) {
        GW_TRY(auto const limits, block->members());
        for (auto const& [id, field] : limits) GW_CHECK(add_limit(set, id, field));
        count += limits.size();
    }
    if (count == 0 && set.limits.empty())
        return root.wrong("The criteria set holds no limit.",
                          "add at least one finding id with its limit");
    return set;
}

Json criteria_json(CriteriaSet const& set) {
    Json out{{"schema", "gaswright.criteria/1"}, {"name", set.name}, {"title", set.title}};
    for (auto const& entry : set.limits) {
        auto const& limit = entry.second;
        Json one = Json::object();
        if (limit.low) one["low"] = *limit.low;
        if (limit.high) one["high"] = *limit.high;
        one["unit"] = limit.unit;
        one["rule"] = std::string(name(limit.rule));
        one["k"] = limit.k;
        one["required"] = limit.required;
        one["source"] = limit.source;
        if (limit.warn) one["warn"] = *limit.warn;
        if (!limit.note.empty()) one["note"] = limit.note;
        out[entry.first] = std::move(one);
    }
    return out;
}

std::vector<std::string> shipped_criteria() {
    std::vector<std::string> names;
    for (auto const& file : generated::shipped_criteria_files) {
        auto stem = file.path.substr(file.path.rfind('/') + 1);
        names.emplace_back(stem.substr(0, stem.rfind('.')));
    }
    return names;
}

Result<CriteriaSet> shipped_criteria(std::string_view name) {
    auto const names = shipped_criteria();
    auto const at = std::find(names.begin(), names.end(), name);
    if (at == names.end())
        return fail(Errc::not_found,
                    fmt::format("There is no criteria set \"{}\".", name.substr(0, 60)),
                    "criteria",
                    fmt::format("choose {}, or give a file", joined(names, ", ")));
    auto const& file =
        generated::shipped_criteria_files[static_cast<std::size_t>(at - names.begin())];
    GW_TRY(auto const document, parse_json(file.text, std::string(file.path)));
    return read_criteria(document.root());
}

}  // namespace gw::metrology
