// Acts on a visit as a whole: taking back, interrupting, going on, turning back, ending.
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/visit.hpp"
#include "desk/visit_append.hpp"
#include "desk/visit_passport.hpp"
#include "visit/thing.hpp"

namespace gw::desk {

std::optional<visit::NewEntry> passport_event(LoadedVisit const& loaded,
                                              std::string const& step_name,
                                              std::string const& serial,
                                              bool undone,
                                              visit::Act const& act) {
    auto const* step = loaded.state.plan->find(step_name);
    if (step == nullptr || (step->role != "module_in" && step->role != "module_out"))
        return std::nullopt;
    auto const subject = visit::thing_subject("module", serial);
    if (!subject) return std::nullopt;  // words that are no serial
    return visit::NewEntry{act.now,
                           *subject,
                           "thing",
                           act.who,
                           Json{{"event",
                                 Json{{"what", step->role == "module_in" ? "in" : "out"},
                                      {"undone", undone},
                                      {"analyser", loaded.state.analyser},
                                      {"visit", loaded.state.visit},
                                      {"at", to_text(act.at ? *act.at : act.now)}}}},
                           {}};
}

namespace {

// What a cylinder learnt from a file that the visit kept is taken back with the file's entry.
Result<std::vector<visit::NewEntry>> readings_undone(store::Store const& store,
                                                     std::vector<std::string> const& files,
                                                     visit::Act const& act) {
    std::vector<visit::NewEntry> out;
    if (files.empty()) return out;
    GW_TRY(auto const cylinders, store.things("cylinder"));
    for (auto const& line : cylinders) {
        GW_TRY(auto const entries, store.of_subject(line.thing));
        for (auto const& entry : entries) {
            auto const body = visit::body_of(entry);
            auto const reading = body ? body->root().find("reading") : std::nullopt;
            if (!reading) continue;
            auto const hash = reading->text_or("sha256", "");
            if (hash && std::find(files.begin(), files.end(), *hash) != files.end())
                out.push_back(
                    {act.now, line.thing, "undo", act.who, Json{{"entry", entry.sequence}}, {}});
        }
    }
    return out;
}

}  // namespace

Result<Recorded> undo_in_visit(store::Store& store,
                               std::string const& id,
                               std::optional<std::int64_t> entry,
                               std::string const& reason,
                               visit::Act const& act) {
    return record(store, id, "", act, [&](LoadedVisit const& loaded) -> Result<store::Append> {
        GW_TRY(auto undoing, visit::undo(loaded.state, loaded.entries, entry, reason, act));
        store::Append append;
        auto const target = undoing.body.at("entry").get<std::int64_t>();
        for (auto const& candidate : loaded.entries) {
            if (candidate.sequence != target) continue;
            if (candidate.kind == "note") {
                GW_TRY(append.entries, readings_undone(store, candidate.evidence, act));
            }
            if (candidate.kind != "evidence") continue;
            GW_TRY(auto const body, visit::body_of(candidate));
            GW_TRY(auto const step, body.root().text_or("step", ""));
            GW_TRY(auto const value, body.root().text_or("value", ""));
            if (auto event = passport_event(loaded, step, value, true, act))
                append.entries.push_back(*std::move(event));
        }
        append.entries.push_back(std::move(undoing));
        return append;
    });
}

Result<Recorded> interrupt_visit(store::Store& store,
                                 std::string const& id,
                                 std::string const& reason,
                                 visit::Act const& act) {
    return record(store, id, "", act, one([&](LoadedVisit const& loaded) {
                      return visit::interrupt(loaded.state, reason, act);
                  }));
}

Result<Recorded> resume_visit(store::Store& store, std::string const& id, visit::Act const& act) {
    return record(store, id, "", act, one([&](LoadedVisit const& loaded) {
                      return visit::resume(loaded.state, act);
                  }));
}

Result<Recorded> turn_back(store::Store& store,
                           std::string const& id,
                           visit::WayBackRequest const& what,
                           visit::Act const& act) {
    return record(store, id, "", act, one([&](LoadedVisit const& loaded) {
                      return visit::take_way_back(loaded.state, what, act);
                  }));
}

Result<Recorded> end_visit(store::Store& store,
                           std::string const& id,
                           visit::EndRequest const& what,
                           visit::Act const& act) {
    return record(store, id, "", act, one([&](LoadedVisit const& loaded) {
                      return visit::end(loaded.state, what, act);
                  }));
}

}  // namespace gw::desk
