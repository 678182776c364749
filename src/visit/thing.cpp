#include "visit/thing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.hpp"

namespace gw::visit {

namespace {

constexpr std::size_t longest_id = 120;

std::string words(Json const& value) {
    if (value.is_string()) return value.get<std::string>();
    if (value.is_array()) {
        std::vector<std::string> parts;
        for (auto const& item : value) parts.push_back(words(item));
        return joined(parts, ", ");
    }
    return value.dump();
}

std::string plain(Json const& value) { return lowered(trimmed(words(value))); }

bool covers(Json const& offered, Json const& needed) {
    if (needed.is_number() && offered.is_number())
        return offered.get<double>() >= needed.get<double>();
    auto const list = [](Json const& value) {
        std::vector<std::string> out;
        if (value.is_array())
            for (auto const& item : value) out.push_back(plain(item));
        else
            out.push_back(plain(value));
        return out;
    };
    auto const there = list(offered);
    auto const wanted = list(needed);
    return std::all_of(wanted.begin(), wanted.end(), [&](std::string const& word) {
        return std::find(there.begin(), there.end(), word) != there.end();
    });
}

}  // namespace

std::vector<ThingKind> const& thing_kinds() {
    static std::vector<ThingKind> const kinds = {
        {"site", "Site", {}, {}},
        {"analyser",
         "Analyser",
         {"proving_due", "evaluation_due", "service_due"},
         {"proving", "performance evaluation", "service"}},
        {"module", "Oven module", {"storage_until", "service_due"}, {"end of storage", "service"}},
        {"cylinder", "Cylinder", {"expires"}, {"end of the certificate"}},
        {"instrument", "Instrument", {"calibration_due"}, {"calibration"}},
        {"rings", "Lot of sealing rings", {"use_by"}, {"end of use"}},
        {"person", "Person", {"competence_until"}, {"end of competence"}},
    };
    return kinds;
}

ThingKind const* find_thing_kind(std::string_view name) {
    for (auto const& kind : thing_kinds())
        if (kind.name == name) return &kind;
    return nullptr;
}

Result<std::string> thing_subject(std::string_view kind, std::string_view id) {
    if (find_thing_kind(kind) == nullptr) {
        std::vector<std::string> names;
        for (auto const& known : thing_kinds()) names.emplace_back(known.name);
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no kind of thing.", kind.substr(0, 40)),
                    "kind",
                    "choose " + joined(names, ", "));
    }
    bool const one_line = std::all_of(id.begin(), id.end(), [](char c) {
        return static_cast<unsigned char>(c) >= 0x20 && c != 0x7F;
    });
    if (id.empty() || id.size() > longest_id || trimmed(id).size() != id.size() || !one_line)
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is no name for a thing.", id.substr(0, 40)),
                    std::string(kind),
                    "give its tag, serial or name in one line of at most 120 characters");
    return fmt::format("{}:{}", kind, id);
}

Json thing_after(Json known, Json const& body) {
    if (auto const set = body.find("set"); set != body.end() && set->is_object())
        for (auto const& [key, value] : set->items()) {
            if (value.is_null())
                known.erase(key);
            else
                known[key] = value;
        }
    for (auto const& [key, list] : {std::pair("reading", "readings"), std::pair("event", "events")})
        if (auto const item = body.find(key); item != body.end()) {
            auto& all = known[list];
            if (!all.is_array()) all = Json::array();
            all.push_back(*item);
        }
    return known;
}

std::vector<Due> due_of(std::string_view thing,
                        Json const& known,
                        Date on,
                        std::int64_t within_days) {
    std::vector<Due> out;
    auto const* kind = find_thing_kind(thing.substr(0, thing.find(':')));
    // What comes from elsewhere may state anything there: only a plain yes silences what is due.
    auto const retired = known.find("retired");
    bool const is_retired = retired != known.end() && retired->is_boolean() && retired->get<bool>();
    if (kind == nullptr || is_retired) return out;
    for (std::size_t i = 0; i < kind->dates.size(); ++i) {
        if (kind->dates[i].empty()) continue;
        auto const field = known.find(kind->dates[i]);
        if (field == known.end() || !field->is_string()) continue;
        auto const day = parse_date(field->get<std::string>(), std::string(kind->dates[i]));
        if (!day) continue;
        auto const left = days_between(on, *day);
        if (left <= within_days)
            out.push_back({std::string(thing), std::string(kind->due[i]), *day, left});
    }
    return out;
}

std::string next_due(std::string_view kind, Json const& known) {
    constexpr std::int64_t any = std::int64_t{1} << 40U;
    std::optional<Date> first;
    for (auto const& due : due_of(std::string(kind) + ":", known, Date{0}, any))
        if (!first || due.day < *first) first = due.day;
    return first ? to_text(*first) : std::string();
}

Compatibility compatibility(Json const& needs, Json const& offers) {
    Compatibility out;
    if (!needs.is_object()) return out;
    for (auto const& [capability, needed] : needs.items()) {
        if (needed.is_null()) continue;
        ++out.compared;
        auto const offered = offers.is_object() ? offers.find(capability) : offers.end();
        if (!offers.is_object() || offered == offers.end() || offered->is_null())
            out.mismatches.push_back({capability, words(needed), "", true});
        else if (!covers(*offered, needed))
            out.mismatches.push_back({capability, words(needed), words(*offered), false});
    }
    return out;
}

}  // namespace gw::visit
