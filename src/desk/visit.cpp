#include "desk/visit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "bench/sum.hpp"
#include "desk/load.hpp"
#include "desk/sign.hpp"
#include "desk/visit_findings.hpp"
#include "trace/series_table.hpp"
#include "visit/thing.hpp"

namespace gw::desk {

namespace {

constexpr int most_tries = 20;  // of an append that others were quicker at

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

Result<std::string> full_id(store::Store const& store, std::string const& id) {
    GW_TRY(auto const exact, store.visit(id));
    if (exact) return id;
    GW_TRY(auto const all, store.visits({}));
    std::vector<std::string> found;
    for (auto const& line : all)
        if (!id.empty() && starts_with_ignoring_case(line.visit, id)) found.push_back(line.visit);
    if (found.size() == 1) return found.front();
    return fail(Errc::not_found,
                found.empty()
                    ? fmt::format("There is no visit \"{}\".", id.substr(0, 60))
                    : fmt::format("{} visits begin with \"{}\".", found.size(), id.substr(0, 60)),
                "ID",
                "see gaswright visit list");
}

using Decide = std::function<Result<store::Append>(LoadedVisit const&)>;

Result<> require_seen(LoadedVisit const& loaded, visit::Act const& act) {
    if (!act.seen || *act.seen == loaded.state.last) return {};
    return fail(Errc::conflict,
                "The record has grown since it was looked at.",
                "seen",
                "look at what was added, then record again");
}

Result<Recorded> record(store::Store& store,
                        std::string const& id,
                        std::string const& step,
                        visit::Act const& act,
                        Decide const& decide) {
    for (int attempt = 0;; ++attempt) {
        GW_TRY(auto loaded, load_visit(store, id));
        GW_CHECK(require_seen(loaded, act));
        GW_TRY(auto append, decide(loaded));
        append.seen = {loaded.state.visit, loaded.state.last};
        auto added = store.append(append);
        if (!added) {
            if (added.error().code == Errc::conflict && attempt < most_tries) continue;
            return pass_on(added.error());
        }
        for (auto const& entry : *added)
            if (entry.subject == loaded.state.visit) loaded.entries.push_back(entry);
        GW_TRY(auto state, visit::visit_state(*loaded.state.plan, loaded.entries));
        return Recorded{added->back(), std::move(state), step};
    }
}

Decide one(std::function<Result<visit::NewEntry>(LoadedVisit const&)> act) {
    return [act = std::move(act)](LoadedVisit const& loaded) -> Result<store::Append> {
        GW_TRY(auto entry, act(loaded));
        store::Append append;
        append.entries.push_back(std::move(entry));
        return append;
    };
}

// What a run says of itself: when it was, and of which stream.
void note_run(Run const& run, visit::GivenFile& file) {
    if (auto const* trace = std::get_if<trace::Trace>(&run)) {
        file.of = trace->start;
        if (auto const stream = trace->header.find("stream"); stream != trace->header.end())
            file.stream = stream->second;
        return;
    }
    for (auto const& [key, value] : std::get<trace::ReportTable>(run).header) {
        if (key == "stream") file.stream = value;
        if (key == "start" || key == "time" || key == "at")
            if (auto const at = parse_instant(value, key)) file.of = *at;
    }
}

// A file with a role is read once before it is taken, so that a wrong one is refused at the door.
Result<> require_readable(visit::Step const& step,
                          std::string const& bytes,
                          std::string const& path) {
    if (step.role == "method") return method_of(bytes, path).map([](auto const&) {});
    if (step.role == "calibration") return calibration_of(bytes, path).map([](auto const&) {});
    if (step.role == "calibration_cylinder" || step.role == "proving_cylinder")
        return cylinder_of(bytes, path).map([](auto const&) {});
    if (step.role == "settling_series")
        return trace::read_series(bytes, path).map([](auto const&) {});
    return {};
}

// The leak test of `bench leak`, from the file of its inputs: the step's reading.
Result<visit::GivenFile::Reading> leak_of(std::string const& bytes, std::string const& path) {
    GW_TRY(auto const document, parse_json(bytes, path));
    auto const& kind = *bench::find_sum("leak");
    auto const no_gas = [](std::string const&, std::string const& where) {
        return Result<gas::Composition>(
            fail(Errc::bad_input, "A leak test needs no gas.", where, "leave it out"));
    };
    GW_TRY(auto const inputs, bench::read_sum_inputs(kind, document.root(), {}, no_gas));
    GW_TRY(auto const sum, bench::worked(kind, inputs));
    for (auto const& result : sum.results)
        if (result.key == "leak_rate") {
            constexpr double mbar_litre = 0.1;  // Pa m3
            return visit::GivenFile::Reading{
                result.si.value / mbar_litre, result.si.u / mbar_litre, "mbar L/s"};
        }
    return fail(Errc::bad_input,
                "Without both temperatures a fall of pressure says nothing of a leak.",
                path,
                "add t1 and t2");
}

// People who are known must have one of the roles that a step asks for.
Result<> require_role(store::Store const& store, visit::Step const& step, std::string const& who) {
    if (step.who.empty()) return {};
    GW_TRY(auto const person, store.thing("person:" + who));
    if (!person) return {};
    GW_TRY(auto const known, parse_json(person->body, "person:" + who));
    std::vector<std::string> has;
    if (auto const roles = known.root().find("roles")) {
        if (roles->is_text()) has.push_back(*roles->text());
        if (roles->is_array()) {
            GW_TRY(auto const list, roles->items());
            for (auto const& role : list)
                if (role.is_text()) has.push_back(*role.text());
        }
    }
    for (auto const& role : step.who)
        if (std::find(has.begin(), has.end(), role) != has.end()) return {};
    return fail(
        Errc::conflict,
        fmt::format(
            "\"{}\" is for: {}; {} is not known as such.", step.name, joined(step.who, ", "), who),
        "--by",
        "name who did it, or record the role with gaswright thing add person");
}

// A module's passport tells where it went in and came out. `undone`: the entry that said so was
// taken back; the passport keeps both.
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

Result<LoadedVisit> load_visit(store::Store const& store, std::string const& id) {
    GW_TRY(auto const full, full_id(store, id));
    LoadedVisit out;
    GW_TRY(out.entries, store.of_subject(full));
    GW_TRY(auto const hash, visit::plan_hash_of(out.entries));
    GW_TRY(auto const text, store.evidence(hash));
    GW_TRY(auto plan, visit::read_plan(text, "plan " + hash.substr(0, 12)));
    GW_TRY(out.state, visit::visit_state(std::move(plan), out.entries));
    return out;
}

Result<visit::VisitShown> show_visit(store::Store const& store,
                                     std::string const& id,
                                     Instant now) {
    GW_TRY(auto loaded, load_visit(store, id));
    auto made = visit_findings(loaded.state, store);
    auto ledger = visit::ledger(loaded.state, made.findings);
    auto signatures = visit_signatures(store, loaded.state.visit, loaded.entries);
    return visit::VisitShown{std::move(loaded.state),
                             std::move(made.findings),
                             std::move(ledger),
                             std::move(made.warnings),
                             now,
                             std::move(signatures)};
}

Result<Recorded> add_to_visit(store::Store& store,
                              std::string const& id,
                              VisitAdd const& what,
                              visit::Act const& act) {
    auto request = what.request;
    std::string bytes;
    auto const& path = what.run_path.empty() ? what.file_path : what.run_path;
    if (!what.run_path.empty() && !what.file_path.empty())
        return fail(Errc::bad_input, "Too much at once.", "command line", "give --run or --file");
    if (!path.empty()) {
        if (what.bytes) {
            bytes = *what.bytes;
        } else {
            GW_TRY(bytes, read_file(path));
        }
        visit::GivenFile file;
        file.name =
            path == "-" ? "standard input" : std::filesystem::path(path).filename().string();
        file.is_run = !what.run_path.empty();
        file.sha256 = sha256(bytes);
        if (file.is_run) {
            GW_TRY(auto const run, run_of(bytes, path));
            note_run(run, file);
        }
        request.file = std::move(file);
    }
    return record(
        store, id, request.step, act, [&](LoadedVisit const& loaded) -> Result<store::Append> {
            auto const* asked = loaded.state.plan->find(request.step);
            if (asked != nullptr && asked->role == "leak_test" && request.file &&
                !request.file->is_run && !request.aside) {
                GW_TRY(request.file->reading, leak_of(bytes, path));
            }
            GW_TRY(auto entry, visit::add(loaded.state, request, act));
            if (auto const* step = asked) {
                if (!path.empty() && !request.aside) GW_CHECK(require_readable(*step, bytes, path));
                if (entry.kind != "note") GW_CHECK(require_role(store, *step, act.who));
            }
            store::Append append;
            if (entry.kind == "evidence" && request.value)
                if (auto event = passport_event(
                        loaded, request.step, std::string(trimmed(*request.value)), false, act))
                    append.entries.push_back(*std::move(event));
            append.entries.push_back(std::move(entry));  // last: it is the one that is answered
            if (!path.empty()) append.evidence.push_back(bytes);
            return append;
        });
}

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
