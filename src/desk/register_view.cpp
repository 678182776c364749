#include "desk/register_view.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "assay/cylinder_check.hpp"
#include "base/text.hpp"
#include "bench/stock_trend.hpp"
#include "desk/thing.hpp"
#include "metrology/criteria.hpp"

namespace gw::desk {

namespace {

std::string words(Json const& value) {
    if (value.is_string()) return value.get<std::string>();
    if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
    if (value.is_array()) {
        std::vector<std::string> parts;
        for (auto const& each : value) parts.push_back(words(each));
        return joined(parts, ", ");
    }
    if (value.is_object()) {
        std::vector<std::string> parts;
        for (auto const& [key, each] : value.items()) parts.push_back(key + " " + words(each));
        return joined(parts, "; ");
    }
    return value.is_number_float() ? shortest(value.get<double>()) : value.dump();
}

Json known_of(visit::ThingLine const& line) {
    auto const body = parse_json(line.body.empty() ? "{}" : line.body, line.thing);
    return body && body->root().is_object() ? body->root().raw() : Json::object();
}

// Lists of readings and events are shown apart; a certificate is shown by its findings.
Json fields_json(Json const& known) {
    Json out = Json::array();
    for (auto const& [name, value] : known.items())
        if (name != "readings" && name != "events" && name != "certificate")
            out.push_back({{"name", name}, {"value", words(value)}});
    return out;
}

std::string text_of(Json const& known, char const* name) {
    auto const at = known.find(name);
    return at == known.end() || at->is_null() ? std::string() : words(*at);
}

Json number_of(Json const& known, char const* name) {
    auto const at = known.find(name);
    return at != known.end() && at->is_number() ? Json(at->get<double>()) : Json(nullptr);
}

Json events_json(Json const& known) {
    Json out = Json::array();
    if (auto const events = known.find("events"); events != known.end() && events->is_array())
        for (auto const& event : *events)
            if (event.is_object())
                out.push_back({{"what", text_of(event, "what")},
                               {"at", text_of(event, "at")},
                               {"analyser", text_of(event, "analyser")},
                               {"visit", text_of(event, "visit")},
                               {"undone", event.value("undone", false)}});
    return out;
}

// How long it lasts at the rate its readings fall, to the pressure that `pressure` asks for.
Json lasts_json(Json const& readings, metrology::Finding const& pressure, Date on) {
    std::vector<bench::StockReading> list;
    for (auto const& reading : readings) {
        auto const at = parse_instant(reading["at"].get<std::string>(), "at");
        if (!at || !reading["pressure_kpa"].is_number()) continue;
        bench::StockReading one;
        one.day = static_cast<double>(at->milliseconds) / 86'400'000.0;
        one.kpa = reading["pressure_kpa"].get<double>();
        if (reading["ambient_c"].is_number()) one.celsius = reading["ambient_c"].get<double>();
        list.push_back(one);
    }
    double newest = static_cast<double>(on.days);
    for (auto const& one : list) newest = std::max(newest, one.day);
    auto const trend = bench::stock_trend(std::move(list), pressure.low.value_or(0), newest);
    auto const number = [](std::optional<double> value) {
        return value ? Json(*value) : Json(nullptr);
    };
    return Json{{"days", number(trend.days)},
                {"from", number(trend.from)},
                {"to", number(trend.to)},
                {"kpa_per_day", number(trend.kpa_per_day)},
                {"readings", trend.readings},
                {"at_one_temperature", trend.at_one_temperature},
                {"why", trend.why}};
}

Json cylinder_json(visit::ThingLine const& line, Json const& known, Date on) {
    Json readings = Json::array(), findings = Json::array();
    if (auto const list = known.find("readings"); list != known.end() && list->is_array())
        for (auto const& reading : *list)
            if (reading.is_object())
                readings.push_back({{"at", text_of(reading, "at")},
                                    {"pressure_kpa", number_of(reading, "pressure_kpa")},
                                    {"ambient_c", number_of(reading, "ambient_c")},
                                    {"by", text_of(reading, "by")}});
    Json out{{"id", line.id},
             {"role", text_of(known, "role")},
             {"fields", fields_json(known)},
             {"readings", std::move(readings)}};
    out["verdict"] = nullptr;
    out["lasts"] = nullptr;
    Document const document(std::make_shared<Json const>(known), line.thing);
    auto const criteria = metrology::shipped_criteria("custody");
    auto const cylinder = assay::read_cylinder(document.root());
    if (criteria && cylinder)
        if (auto const check = assay::cylinder_check(*cylinder, *criteria, {on, std::nullopt})) {
            for (auto const& f : check->findings) {
                findings.push_back(metrology::finding_json(f));
                if (f.id == "pressure") out["lasts"] = lasts_json(out["readings"], f, on);
            }
            out["verdict"] = std::string(metrology::name(check->verdict));
        }
    out["findings"] = std::move(findings);
    return out;
}

// The module that went in last and was not taken out or taken back since.
std::string module_in(std::vector<visit::ThingLine> const& things, std::string const& analyser) {
    std::string out, newest;
    for (auto const& line : things) {
        if (line.kind != "module") continue;
        for (auto const& event : events_json(known_of(line))) {
            auto const at = event["at"].get<std::string>();
            if (event["analyser"] != analyser || event["undone"].get<bool>() || at < newest)
                continue;
            newest = at;
            if (event["what"] == "in")
                out = line.id;
            else if (out == line.id)
                out.clear();
        }
    }
    return out;
}

}  // namespace

Result<Json> register_json(store::Store const& store, Date on, std::int64_t within_days) {
    GW_TRY(auto const things, store.things(""));
    GW_TRY(auto const dues, due(store, on, within_days));
    Json analysers = Json::array(), modules = Json::array(), cylinders = Json::array(),
         others = Json::array();
    for (auto const& line : things) {
        auto const known = known_of(line);
        if (line.kind == "analyser") {
            GW_TRY(auto const lines, store.visits({line.id, false, 0}));
            Json visits = Json::array();
            for (auto const& v : lines)
                visits.push_back({{"visit", v.visit},
                                  {"plan", v.plan},
                                  {"title", v.title},
                                  {"state", v.state},
                                  {"opened", v.opened}});
            auto const module = module_in(things, line.id);
            analysers.push_back({{"id", line.id},
                                 {"fields", fields_json(known)},
                                 {"module", module.empty() ? Json(nullptr) : Json(module)},
                                 {"visits", std::move(visits)}});
        } else if (line.kind == "module") {
            modules.push_back(
                {{"id", line.id}, {"fields", fields_json(known)}, {"events", events_json(known)}});
        } else if (line.kind == "cylinder") {
            cylinders.push_back(cylinder_json(line, known, on));
        } else {
            others.push_back(
                {{"kind", line.kind}, {"id", line.id}, {"fields", fields_json(known)}});
        }
    }
    return Json{{"on", to_text(on)},
                {"analysers", std::move(analysers)},
                {"modules", std::move(modules)},
                {"cylinders", std::move(cylinders)},
                {"others", std::move(others)},
                {"due", due_json(dues)["due"]}};
}

}  // namespace gw::desk
