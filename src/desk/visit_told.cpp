// What was recorded, and the list of visits: as data and as text.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "desk/visit.hpp"

namespace gw::desk {

Json recorded_json(Recorded const& recorded) {
    Json out{{"visit", recorded.state.visit},
             {"entry", recorded.entry.sequence},
             {"kind", recorded.entry.kind},
             {"hash", recorded.entry.hash},
             {"state", recorded.state.state}};
    if (auto const* step = recorded.state.find(recorded.step); step != nullptr) {
        out["step"] = Json{{"name", step->step->name}, {"state", std::string(name(step->state))}};
        if (!step->evidence.empty() && step->evidence.back().entry == recorded.entry.sequence) {
            out["standing"] = std::string(name(step->evidence.back().standing));
            out["marks"] = step->evidence.back().marks;
        }
        if (step->state == visit::StepState::open && !step->reason.empty())
            out["step"]["reason"] = step->reason;
    }
    auto const* now = recorded.state.now();
    out["now"] = now == nullptr
                     ? Json(nullptr)
                     : Json{{"stage", recorded.state.plan->stage_of(now->step->name)->name},
                            {"step", now->step->name}};
    return out;
}

std::string recorded_text(Recorded const& recorded) {
    auto out = fmt::format("Recorded as entry {} of the journal, visit {}.\n",
                           recorded.entry.sequence,
                           recorded.state.visit);
    if (auto const* step = recorded.state.find(recorded.step); step != nullptr) {
        std::string state(name(step->state));
        std::replace(state.begin(), state.end(), '_', ' ');
        out += fmt::format("{}: {}\n", step->step->name, state);
        if (!step->evidence.empty() && step->evidence.back().entry == recorded.entry.sequence)
            for (auto const& mark : step->evidence.back().marks) out += fmt::format("  {}\n", mark);
    }
    if (auto const* now = recorded.state.now(); now != nullptr) {
        out += fmt::format("Next: {}: {} ({})\n",
                           recorded.state.plan->stage_of(now->step->name)->name,
                           now->step->name,
                           now->step->what);
        if (!now->step->caution.empty()) out += fmt::format("CAUTION: {}\n", now->step->caution);
    }
    return out;
}

Json visits_json(std::vector<visit::VisitLine> const& visits) {
    Json list = Json::array();
    for (auto const& line : visits)
        list.push_back(Json{{"visit", line.visit},
                            {"analyser", line.analyser},
                            {"plan", line.plan},
                            {"state", line.state},
                            {"opened", line.opened},
                            {"changed", line.changed},
                            {"entries", line.entries},
                            {"until", line.until.empty() ? Json(nullptr) : Json(line.until)},
                            {"owner", line.owner.empty() ? Json(nullptr) : Json(line.owner)}});
    return Json{{"visits", std::move(list)}};
}

std::string visits_text(std::vector<visit::VisitLine> const& visits) {
    if (visits.empty())
        return "No visit yet. Open one with:  gaswright visit new --plan exchange --analyser TAG\n";
    std::string out;
    for (auto const& line : visits) {
        out += fmt::format("{:<32} {:<12} {:<20} {:<12} {}",
                           line.visit,
                           line.state,
                           line.plan,
                           line.opened.substr(0, 10),
                           line.analyser);
        if (!line.until.empty())
            out += fmt::format(
                "  until {}, {}", line.until, line.owner.empty() ? "nobody named" : line.owner);
        out += "\n";
    }
    return out;
}

}  // namespace gw::desk
