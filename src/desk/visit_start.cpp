// Opening a visit: its name, what it is judged by, the plan kept as evidence.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/load.hpp"
#include "desk/visit.hpp"
#include "desk/visit_append.hpp"
#include "visit/thing.hpp"

namespace gw::desk {

namespace {

std::string safe_tag(std::string const& analyser) {
    std::string out;
    for (char const c : analyser) {
        bool const plain =
            (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (plain)
            out += c;
        else if (!out.empty() && out.back() != '-')
            out += '-';
    }
    while (!out.empty() && out.back() == '-') out.pop_back();
    return out.empty() ? "visit" : out.substr(0, 40);
}

// The tag, the day, and four digits that two laptops do not share by accident.
std::string visit_id(VisitStart const& what,
                     visit::Act const& act,
                     int attempt,
                     std::string const& head) {
    auto const salt = sha256(
        fmt::format("{}|{}|{}|{}|{}", what.analyser, act.now.milliseconds, act.who, head, attempt));
    auto day = to_text(date_of(act.now));
    std::erase(day, '-');
    return fmt::format("{}-{}-{}", safe_tag(what.analyser), day, salt.substr(0, 4));
}

}  // namespace

Result<std::string> start_visit(store::Store& store,
                                VisitStart const& what,
                                visit::Act const& act) {
    GW_TRY(auto const text, visit::shipped_plan_text(what.plan));
    GW_TRY(auto const plan, visit::read_plan(text, what.plan));
    GW_TRY(auto const subject, visit::thing_subject("analyser", what.analyser));
    Json judging = Json::object();
    GW_TRY(auto const analyser, store.thing(subject));
    std::string site = what.site;
    if (analyser) {
        GW_TRY(auto const known, parse_json(analyser->body, subject));
        for (auto const* key :
             {"criteria", "standard", "combustion_c", "metering_c", "pressure_kpa"})
            if (auto const field = known.root().find(key)) judging[key] = field->raw();
        if (site.empty()) {
            GW_TRY(site, known.root().text_or("site", ""));
        }
    }
    if (!what.criteria.empty()) judging["criteria"] = what.criteria;
    if (judging.contains("criteria")) {
        GW_TRY([[maybe_unused]] auto const set,
               load_criteria(judging["criteria"].get<std::string>()));
    }
    for (int attempt = 0;; ++attempt) {
        GW_TRY(auto const head, store.head());
        auto const id = visit_id(what, act, attempt, head.hash);
        GW_TRY(auto const known, store.thing(subject));
        store::Append append;
        if (!known)
            append.entries.push_back(
                {act.now,
                 subject,
                 "thing",
                 act.who,
                 Json{{"set", site.empty() ? Json::object() : Json{{"site", site}}}},
                 {}});
        append.entries.push_back(
            visit::open_visit({plan.name, what.analyser, site, what.title, what.module, judging},
                              id,
                              plan.hash,
                              act));
        append.evidence.push_back(text);
        append.seen = {id, 0};
        auto const added = store.append(append);
        if (added) return id;
        if (added.error().code != Errc::conflict || attempt >= most_tries)
            return pass_on(added.error());
    }
}

}  // namespace gw::desk
