#include "desk/thing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/load.hpp"

namespace gw::desk {

namespace {

Result<visit::ThingLine> put(store::Store& store,
                             std::string const& subject,
                             Json body,
                             std::vector<std::string> files,
                             visit::Act const& act) {
    if (act.at) body["at"] = to_text(*act.at);
    store::Append append;
    append.entries.push_back({act.now, subject, "thing", act.who, std::move(body), {}});
    for (auto const& bytes : files) append.entries.back().evidence.push_back(sha256(bytes));
    append.evidence = std::move(files);
    GW_CHECK(store.append(append));
    GW_TRY(auto line, store.thing(subject));
    return *std::move(line);
}

// "carrier=helium", "streams=2", "needs={...}", "retired=true", "note=" (takes it away).
Result<> set_field(std::string const& text, Json& fields) {
    auto const equals = text.find('=');
    auto const key = trimmed(std::string_view(text).substr(0, equals));
    if (equals == std::string::npos || key.empty())
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" sets nothing.", text.substr(0, 40)),
                    "--set",
                    "write NAME=VALUE");
    auto const value = trimmed(std::string_view(text).substr(equals + 1));
    auto& field = fields[std::string(key)];
    auto const number = parse_number(value);
    if (value.empty())
        field = nullptr;
    else if (value == "true" || value == "false")
        field = value == "true";
    else if (number && shortest(*number) == value)  // "0012" stays a serial
        field = *number;
    else if (looks_like_json(value)) {
        GW_TRY(auto const document, parse_json(value, "--set " + std::string(key)));
        field = document.root().raw();
    } else
        field = std::string(value);
    return {};
}

// Days are read once, so that what falls due is never passed over in silence.
Result<> require_dates(std::string const& kind, Json const& fields) {
    for (auto const name : visit::find_thing_kind(kind)->dates) {
        if (name.empty()) continue;
        auto const field = fields.find(name);
        if (field == fields.end() || field->is_null()) continue;
        if (!field->is_string())
            return fail(Errc::bad_input,
                        "A day is needed here.",
                        std::string(name),
                        "write for example 2026-03-02");
        GW_TRY([[maybe_unused]] auto const day,
               parse_date(field->get<std::string>(), std::string(name)));
    }
    return {};
}

std::string words(Json const& value) {
    return value.is_string() ? value.get<std::string>() : value.dump();
}

}  // namespace

Result<visit::ThingLine> add_thing(store::Store& store,
                                   ThingAdd const& what,
                                   visit::Act const& act) {
    GW_TRY(auto const subject, visit::thing_subject(what.kind, what.id));
    Json fields = Json::object();
    std::vector<std::string> files;
    if (!what.file.empty()) {
        GW_TRY(auto const bytes, read_file(what.file));
        GW_TRY(auto const document, parse_json(bytes, what.file));
        if (!document.root().is_object())
            return document.root().wrong("An object of fields is needed here.");
        fields = document.root().raw();
        fields.erase("schema");
        files.push_back(bytes);
    }
    for (auto const& text : what.set) GW_CHECK(set_field(text, fields));
    GW_CHECK(require_dates(what.kind, fields));
    return put(store, subject, Json{{"set", std::move(fields)}}, std::move(files), act);
}

Result<visit::ThingLine> add_cylinder(store::Store& store,
                                      std::string const& path,
                                      visit::Act const& act) {
    GW_TRY(auto const bytes, read_file(path));
    return add_cylinder_bytes(store, bytes, path, act);
}

Result<visit::ThingLine> add_cylinder_bytes(store::Store& store,
                                            std::string const& bytes,
                                            std::string const& source,
                                            visit::Act const& act) {
    GW_TRY(auto const document, parse_json(bytes, source));
    GW_TRY(auto const cylinder, assay::read_cylinder(document.root()));
    GW_TRY(auto const subject, visit::thing_subject("cylinder", cylinder.serial));
    auto fields = document.root().raw();
    fields.erase("schema");
    fields["certificate_sha256"] = sha256(bytes);
    Json body{{"set", std::move(fields)}};
    if (cylinder.pressure)
        body["reading"] = Json{{"at", to_text(act.at ? *act.at : act.now)},
                               {"pressure_kpa", in_kilopascal(*cylinder.pressure)},
                               {"by", act.who}};
    return put(store, subject, std::move(body), {bytes}, act);
}

Result<visit::ThingLine> read_cylinder_pressure(store::Store& store,
                                                PressureReading const& what,
                                                visit::Act const& act) {
    GW_TRY(auto const subject, visit::thing_subject("cylinder", what.serial));
    GW_TRY(auto const known, store.thing(subject));
    if (!known)
        return fail(Errc::not_found,
                    fmt::format("No cylinder \"{}\" is known.", what.serial.substr(0, 60)),
                    "serial",
                    "add it with gaswright cylinder add");
    if (!(what.pressure_kpa >= 0 && what.pressure_kpa < 1e5))
        return fail(Errc::bad_input,
                    fmt::format("{} kPa is no pressure of a cylinder.", what.pressure_kpa),
                    "--pressure-kpa",
                    "give kPa absolute");
    Json reading{{"at", to_text(act.at ? *act.at : act.now)},
                 {"pressure_kpa", what.pressure_kpa},
                 {"by", act.who}};
    if (what.ambient_c) reading["ambient_c"] = *what.ambient_c;
    if (!what.with.empty()) reading["with"] = what.with;
    if (!what.sha256.empty()) reading["sha256"] = what.sha256;
    // One pressure is known at a time: what a certificate stated as gauge gives way to it.
    Json set{{"pressure_kpa", what.pressure_kpa}, {"pressure_gauge_kpa", nullptr}};
    // The coldest that it ever stood is kept: heavy components that condensed do not tell later.
    if (what.ambient_c) {
        GW_TRY(auto const document, parse_json(known->body, subject));
        GW_TRY(double const coldest,
               document.root().number_or("coldest_recorded_c", std::numeric_limits<double>::max()));
        if (*what.ambient_c < coldest) set["coldest_recorded_c"] = *what.ambient_c;
    }
    return put(
        store, subject, Json{{"set", std::move(set)}, {"reading", std::move(reading)}}, {}, act);
}

Result<ThingShown> show_thing(store::Store const& store,
                              std::string const& kind,
                              std::string const& id) {
    GW_TRY(auto const subject, visit::thing_subject(kind, id));
    GW_TRY(auto line, store.thing(subject));
    if (!line)
        return fail(Errc::not_found,
                    fmt::format("No {} \"{}\" is known.", kind, id.substr(0, 60)),
                    kind,
                    "see gaswright thing list");
    ThingShown out;
    out.line = *std::move(line);
    GW_TRY(out.entries, store.of_subject(subject));
    if (kind == "analyser") {
        GW_TRY(out.visits, store.visits({id, false, 0}));
    }
    return out;
}

Json thing_json(ThingShown const& shown) {
    auto const body = parse_json(shown.line.body.empty() ? "{}" : shown.line.body, "thing");
    Json history = Json::array(), visits = Json::array();
    for (auto const& entry : shown.entries) {
        auto const said = visit::body_of(entry);
        history.push_back(Json{{"entry", entry.sequence},
                               {"recorded", entry.recorded},
                               {"who", entry.who},
                               {"kind", entry.kind},
                               {"body", said ? said->root().raw() : Json(nullptr)},
                               {"evidence", entry.evidence}});
    }
    for (auto const& visit : shown.visits)
        visits.push_back(Json{{"visit", visit.visit},
                              {"plan", visit.plan},
                              {"state", visit.state},
                              {"opened", visit.opened}});
    return Json{{"kind", shown.line.kind},
                {"id", shown.line.id},
                {"known", body ? body->root().raw() : Json::object()},
                {"due", shown.line.due.empty() ? Json(nullptr) : Json(shown.line.due)},
                {"history", std::move(history)},
                {"visits", std::move(visits)}};
}

std::string thing_text(ThingShown const& shown) {
    auto out =
        fmt::format("{} {}\n", visit::find_thing_kind(shown.line.kind)->title, shown.line.id);
    auto const body = parse_json(shown.line.body.empty() ? "{}" : shown.line.body, "thing");
    if (body)
        for (auto const& [key, value] : body->root().raw().items())
            if (key != "readings" && key != "events")
                out += fmt::format("  {}: {}\n", key, words(value));
    if (!shown.line.due.empty()) out += fmt::format("  next due: {}\n", shown.line.due);
    if (body)
        if (auto const readings = body->root().find("readings"); readings && readings->is_array()) {
            out += "Readings\n";
            for (auto const& reading : readings->raw())
                out += fmt::format("  {}\n", reading.dump());
        }
    out += "History\n";
    for (auto const& entry : shown.entries)
        out += fmt::format("  entry {}, {}, {}: {}\n",
                           entry.sequence,
                           entry.recorded,
                           entry.who,
                           entry.body.substr(0, 120));
    if (!shown.visits.empty()) out += "Visits\n";
    for (auto const& visit : shown.visits)
        out +=
            fmt::format("  {}  {}  {}  {}\n", visit.visit, visit.plan, visit.state, visit.opened);
    return out;
}

Json things_json(std::vector<visit::ThingLine> const& things) {
    Json list = Json::array();
    for (auto const& line : things)
        list.push_back(Json{{"kind", line.kind},
                            {"id", line.id},
                            {"due", line.due.empty() ? Json(nullptr) : Json(line.due)},
                            {"changed", line.changed},
                            {"entries", line.entries}});
    return Json{{"things", std::move(list)}};
}

std::string things_text(std::vector<visit::ThingLine> const& things) {
    if (things.empty())
        return "Nothing is known yet. Add with:  gaswright thing add analyser TAG\n";
    std::string out;
    for (auto const& line : things)
        out += fmt::format(
            "{:<12} {:<28} {}\n", line.kind, line.id, line.due.empty() ? "" : "due " + line.due);
    return out;
}

Result<std::vector<visit::Due>> due(store::Store const& store, Date on, std::int64_t within_days) {
    std::vector<visit::Due> out;
    GW_TRY(auto const things, store.things(""));
    for (auto const& line : things) {
        auto const body = parse_json(line.body.empty() ? "{}" : line.body, line.thing);
        if (!body) continue;
        for (auto& item : visit::due_of(line.thing, body->root().raw(), on, within_days))
            out.push_back(std::move(item));
    }
    GW_TRY(auto const visits, store.visits({}));
    for (auto const& line : visits) {
        if (line.state != "on-fallback" || line.until.empty()) continue;
        auto const day = parse_date(line.until, "until");
        if (day && days_between(on, *day) <= within_days)
            out.push_back({line.visit,
                           fmt::format("end of fallback ({})",
                                       line.owner.empty() ? "nobody owns it" : line.owner),
                           *day,
                           days_between(on, *day)});
    }
    std::stable_sort(
        out.begin(), out.end(), [](auto const& a, auto const& b) { return a.day < b.day; });
    return out;
}

Json due_json(std::vector<visit::Due> const& due) {
    Json list = Json::array();
    for (auto const& item : due)
        list.push_back(Json{{"thing", item.thing},
                            {"what", item.what},
                            {"day", to_text(item.day)},
                            {"days_left", item.days_left}});
    return Json{{"due", std::move(list)}};
}

std::string due_text(std::vector<visit::Due> const& due, std::int64_t within_days) {
    if (due.empty()) return fmt::format("Nothing falls due within {} days.\n", within_days);
    std::string out;
    for (auto const& item : due)
        out += fmt::format("{}  {:<20}  {}: {}\n",
                           to_text(item.day),
                           item.days_left < 0 ? fmt::format("{} days past", -item.days_left)
                                              : fmt::format("in {} days", item.days_left),
                           item.thing,
                           item.what);
    return out;
}

}  // namespace gw::desk
