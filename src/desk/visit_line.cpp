#include "desk/visit_line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "desk/load.hpp"
#include "desk/run_drawing.hpp"
#include "trace/series_table.hpp"
#include "visit/settle.hpp"

namespace gw::desk {

namespace {

using visit::Evidence;
using visit::StepView;
using visit::VisitState;

constexpr std::size_t drawn_readings = 600;  // of a series behind the line: one for two pixels

template <class Look>
void each_step(VisitState const& visit, Look const& look) {
    for (auto const& stage : visit.stages)
        for (auto const& step : stage.steps) look(stage, step);
}

std::string title_of(visit::Step const& step, Evidence const& evidence, std::size_t number) {
    auto const gas =
        step.gas == "line"
            ? fmt::format("Line gas, stream {}", evidence.stream.empty() ? "1" : evidence.stream)
        : step.gas == "proving"     ? std::string("Proving gas")
        : step.gas == "calibration" ? std::string("Calibration gas")
                                    : step.name;
    return fmt::format("{}, run {}", gas, number);
}

Json marks(VisitState const& visit, VisitFindings const& made) {
    struct Mark {
        std::int64_t at;
        Json json;
    };
    std::vector<Mark> all;
    std::map<std::string, std::size_t> numbers;
    each_step(visit, [&](auto const&, StepView const& step) {
        if (step.step->wants != visit::Wants::run) return;
        for (auto const& evidence : step.evidence) {
            if (evidence.standing != visit::Standing::current || evidence.sha256.empty()) continue;
            auto const at = parse_instant(evidence.at, "at");
            if (!at) continue;
            auto const number = ++numbers[step.step->name + "|" + evidence.stream];
            auto const judged =
                std::find_if(made.runs.begin(), made.runs.end(), [&](JudgedRun const& run) {
                    return run.sha256 == evidence.sha256 && run.basis == step.step->basis;
                });
            bool const known = judged != made.runs.end();
            all.push_back(
                {at->milliseconds,
                 Json{{"entry", evidence.entry},
                      {"at", evidence.at},
                      {"step", step.step->name},
                      {"gas", step.step->gas},
                      {"stream", evidence.stream.empty() ? Json(nullptr) : Json(evidence.stream)},
                      {"basis", step.step->basis},
                      {"title", title_of(*step.step, evidence, number)},
                      {"verdict",
                       known ? std::string(metrology::name(judged->finding.verdict)) : "not_yet"},
                      {"finding", known ? metrology::finding_json(judged->finding) : Json(nullptr)},
                      {"cv",
                       Json{{"value", known ? Json(judged->cv) : Json(nullptr)},
                            {"unit", known ? judged->cv_unit : "MJ/m3"}}}}});
        }
    });
    std::stable_sort(
        all.begin(), all.end(), [](auto const& a, auto const& b) { return a.at < b.at; });
    Json out = Json::array();
    for (auto& mark : all) out.push_back(std::move(mark.json));
    return out;
}

// When each stage began: its first evidence that stands.
Json posts(VisitState const& visit) {
    Json out = Json::array();
    for (auto const& stage : visit.stages) {
        std::optional<std::pair<std::int64_t, std::string>> first;
        for (auto const& step : stage.steps)
            for (auto const& evidence : step.evidence) {
                auto const at = parse_instant(evidence.at, "at");
                bool const stands = evidence.standing == visit::Standing::current;
                if (at && stands && (!first || at->milliseconds < first->first))
                    first = {at->milliseconds, evidence.at};
            }
        out.push_back(Json{{"stage", stage.stage->name},
                           {"at", first ? Json(first->second) : Json(nullptr)},
                           {"state", std::string(name(stage.state()))}});
    }
    return out;
}

Evidence const* standing_file(VisitState const& visit, std::string const& role) {
    Evidence const* out = nullptr;
    each_step(visit, [&](auto const&, StepView const& step) {
        if (step.step->role != role) return;
        if (auto const* stands = step.current(); stands != nullptr && !stands->sha256.empty())
            out = stands;
    });
    return out;
}

Json drawn_series(trace::SeriesColumn const& column, Instant start, bool change) {
    std::size_t const n = column.t.size();
    std::size_t const stride = std::max<std::size_t>(1, (n + drawn_readings - 1) / drawn_readings);
    Json at = Json::array(), values = Json::array();
    for (std::size_t i = 0; i < n; i += stride) {
        at.push_back(start.milliseconds + static_cast<std::int64_t>(column.t[i] * 1000));
        values.push_back(column.y[i] - (change ? column.y.front() : 0));
    }
    return Json{{"name", column.name},
                {"unit", column.name == "oven_c" ? "degC" : "s"},
                {"at_ms", std::move(at)},
                {"values", std::move(values)}};
}

void put_settling(VisitState const& visit, store::Store const& store, Json& out) {
    auto const* file = standing_file(visit, "settling_series");
    if (file == nullptr) return;
    auto const bytes = store.evidence(file->sha256);
    if (!bytes) return;
    auto const table = series_of(*bytes, file->file);
    // Seconds without a day stand nowhere on a line of time.
    if (!table || !table->start) return;
    for (auto const& column : table->columns) {
        bool const retention = column.name.rfind("retention:", 0) == 0;
        if (column.t.empty() || (column.name != "oven_c" && !retention)) continue;
        out["series"].push_back(drawn_series(column, *table->start, retention));
        if (retention) break;  // the first is enough for a line behind the runs
    }
    auto const judged = visit::settle(*table, std::nullopt);
    if (!judged.ready_at || !judged.ready_from || !judged.ready_to) return;
    out["ready"] = Json{{"at", table->time_text(*judged.ready_at)},
                        {"from", table->time_text(*judged.ready_from)},
                        {"to", table->time_text(*judged.ready_to)}};
}

// From the opening to the last that is known or expected.
void put_span(VisitState const& visit, Json& out) {
    auto from = parse_instant(visit.opened, "opened");
    if (!from) return;
    auto to = *from;
    auto const take = [&](std::string const& text) {
        auto const at = parse_instant(text, "at");
        if (!at) return;
        if (at->milliseconds < from->milliseconds) *from = *at;
        if (at->milliseconds > to.milliseconds) to = *at;
    };
    each_step(visit, [&](auto const&, StepView const& step) {
        for (auto const& evidence : step.evidence)
            if (evidence.standing == visit::Standing::current) take(evidence.at);
    });
    for (auto const* text : {&visit.permit_end, &visit.end_at}) take(*text);
    out["from"] = to_text(*from);
    out["to"] = to_text(to);
}

std::optional<assay::Method> method_for(VisitState const& visit,
                                        store::Store const& store,
                                        std::string const& basis) {
    Evidence const* found = nullptr;
    each_step(visit, [&](auto const&, StepView const& step) {
        if (step.step->role != "method") return;
        auto const* stands = step.current();
        if (stands == nullptr || stands->sha256.empty()) return;
        if (found == nullptr || step.step->basis == basis) found = stands;
    });
    if (found == nullptr) return std::nullopt;
    auto const bytes = store.evidence(found->sha256);
    if (!bytes) return std::nullopt;
    auto method = method_of(*bytes, found->file);
    return method ? std::optional(*std::move(method)) : std::nullopt;
}

}  // namespace

Json visit_line_json(VisitState const& visit,
                     VisitFindings const& made,
                     store::Store const& store) {
    Json out{{"from", visit.opened},
             {"to", visit.opened},
             {"posts", posts(visit)},
             {"marks", marks(visit, made)},
             {"series", Json::array()},
             {"ready", nullptr}};
    put_span(visit, out);
    put_settling(visit, store, out);
    return out;
}

Result<Json> kept_run(VisitState const& visit, store::Store const& store, std::int64_t entry) {
    Evidence const* kept = nullptr;
    visit::Step const* step = nullptr;
    each_step(visit, [&](auto const&, StepView const& view) {
        for (auto const& evidence : view.evidence)
            if (evidence.entry == entry && !evidence.sha256.empty() &&
                evidence.kind == visit::Wants::run) {
                kept = &evidence;
                step = view.step;
            }
    });
    if (kept == nullptr)
        return fail(Errc::not_found,
                    fmt::format("Entry {} of this visit kept no run.", entry),
                    "entry",
                    "take one that the visit lists");
    GW_TRY(auto const bytes, store.evidence(kept->sha256));
    GW_TRY(auto const run, run_of(bytes, kept->file));
    Json out{{"entry", entry},
             {"title", kept->file},
             {"at", kept->at},
             {"gas", step->gas},
             {"basis", step->basis}};
    out.update(drawn_run(run, method_for(visit, store, step->basis)));
    return out;
}

}  // namespace gw::desk
