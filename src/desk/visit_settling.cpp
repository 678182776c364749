#include "desk/visit_settling.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "trace/series_table.hpp"
#include "visit/settle.hpp"

namespace gw::desk {

namespace {

using visit::Evidence;
using visit::VisitState;

constexpr std::size_t curve_points = 121;  // one for some eight pixels of a wide screen
constexpr std::size_t least_runs = 2;      // one run shows no movement

struct TimedRun {
    Instant at;
    visit::ProofRun const* run = nullptr;
    std::optional<double> total;  ///< mol/mol
};

// When each run that stands was run, by its hash.
std::map<std::string, Instant> times_of(VisitState const& visit) {
    std::map<std::string, Instant> out;
    for (auto const& stage : visit.stages)
        for (auto const& step : stage.steps)
            for (auto const& evidence : step.evidence) {
                if (evidence.standing != visit::Standing::current || evidence.sha256.empty())
                    continue;
                auto const& text = evidence.trusted.empty() ? evidence.at : evidence.trusted;
                if (auto const at = parse_instant(text, "at")) out[evidence.sha256] = *at;
            }
    return out;
}

Evidence const* series_file(VisitState const& visit) {
    Evidence const* out = nullptr;
    for (auto const& stage : visit.stages)
        for (auto const& step : stage.steps) {
            if (step.step->role != "settling_series") continue;
            if (auto const* stands = step.current(); stands != nullptr && !stands->sha256.empty())
                out = stands;
        }
    return out;
}

std::vector<TimedRun> timed(std::vector<visit::ProofRun> const& runs,
                            std::map<std::string, Instant> const& times,
                            visit::Proof const& proof) {
    std::vector<TimedRun> out;
    for (auto const& run : runs) {
        auto const at = times.find(run.hash);
        if (at == times.end() || !run.areas) continue;
        TimedRun one{at->second, &run, std::nullopt};
        for (auto const& line : proof.runs)
            if (line.run.hash == run.hash) one.total = line.run.total;
        out.push_back(one);
    }
    std::stable_sort(out.begin(), out.end(), [](auto const& a, auto const& b) {
        return a.at.milliseconds < b.at.milliseconds;
    });
    // Two runs of one moment are one injection handed in twice.
    out.erase(std::unique(out.begin(),
                          out.end(),
                          [](auto const& a, auto const& b) {
                              return a.at.milliseconds == b.at.milliseconds;
                          }),
              out.end());
    return out;
}

// The certified amounts of the components that a run names; none where nothing is certified.
std::map<gas::Component, double> certified(visit::ProofInputs const& in,
                                           assay::RunAreas const& areas) {
    std::map<gas::Component, double> out;
    if (!in.calibration_cylinder) return out;
    std::vector<gas::Component> names;
    for (auto const& area : areas.areas) names.push_back(area.component);
    auto const amounts = visit::certified_amounts(
        *in.calibration_cylinder, names, in.method ? &*in.method : nullptr);
    for (std::size_t i = 0; i < names.size() && i < amounts.x.size(); ++i)
        if (amounts.x[i] > 0) out[names[i]] = amounts.x[i];
    return out;
}

// What of the runs is read: factors where the gas is the certified one, totals where it is one gas.
enum class Read { retention, retention_and_total, all };

trace::SeriesTable table_of(std::vector<TimedRun> const& runs,
                            visit::ProofInputs const& in,
                            Read read) {
    trace::SeriesTable out;
    if (runs.empty()) return out;
    out.start = runs.front().at;
    std::vector<trace::SeriesColumn> retention, factors, totals;
    auto const put = [](std::vector<trace::SeriesColumn>& columns,
                        std::string name,
                        double t,
                        double y,
                        std::size_t row) {
        auto at = std::find_if(
            columns.begin(), columns.end(), [&](auto const& c) { return c.name == name; });
        if (at == columns.end()) at = columns.insert(at, {std::move(name), {}, {}, {}});
        at->t.push_back(t);
        at->y.push_back(y);
        at->row.push_back(row);
    };
    for (std::size_t i = 0; i < runs.size(); ++i) {
        double const t =
            static_cast<double>(runs[i].at.milliseconds - out.start->milliseconds) / 1000;
        out.t.push_back(t);
        auto const& areas = *runs[i].run->areas;
        auto const amounts =
            read == Read::all ? certified(in, areas) : std::map<gas::Component, double>{};
        for (auto const& area : areas.areas) {
            auto const name = std::string(gas::name(area.component));
            if (area.retention_s > 0) put(retention, "retention:" + name, t, area.retention_s, i);
            if (auto const x = amounts.find(area.component); x != amounts.end() && area.area > 0)
                put(factors, "factor:" + name, t, area.area / x->second, i);
        }
        if (runs[i].total && read != Read::retention)
            put(totals, "total", t, 100 * *runs[i].total, i);
    }
    for (auto* columns : {&retention, &factors, &totals})
        for (auto& column : *columns) out.columns.push_back(std::move(column));
    out.events.resize(out.t.size());
    return out;
}

Json source_json(
    std::string id, std::string title, bool decides, Json entry, trace::SeriesTable const& table) {
    auto const settlement = visit::settle(table, std::nullopt, curve_points);
    auto out = visit::settlement_picture_json(settlement, table);
    out["id"] = std::move(id);
    out["title"] = std::move(title);
    out["decides"] = decides;
    out["entry"] = std::move(entry);
    out["start"] = table.start ? Json(to_text(*table.start)) : Json(nullptr);
    return out;
}

}  // namespace

Json visit_settling_json(VisitState const& visit,
                         VisitFindings const& made,
                         store::Store const& store) {
    Json sources = Json::array();
    if (auto const* file = series_file(visit); file != nullptr)
        if (auto const bytes = store.evidence(file->sha256))
            if (auto const table = trace::read_series(*bytes, file->file))
                sources.push_back(source_json("series", file->file, true, file->entry, *table));
    if (auto const judged = made.judged.find("as_left"); judged != made.judged.end()) {
        auto const times = times_of(visit);
        auto const& in = judged->second.inputs;
        auto const& proof = judged->second.proof;
        auto const add = [&](std::string id,
                             std::string title,
                             std::vector<visit::ProofRun> const& runs,
                             Read read) {
            auto const list = timed(runs, times, proof);
            if (list.size() < least_runs) return;
            sources.push_back(source_json(
                std::move(id), std::move(title), false, nullptr, table_of(list, in, read)));
        };
        std::vector<visit::ProofRun> every(in.calibration_gas);
        every.insert(every.end(), in.proving_gas.begin(), in.proving_gas.end());
        for (auto const& [stream, runs] : in.line_gas)
            every.insert(every.end(), runs.begin(), runs.end());
        bool const several = every.size() > in.calibration_gas.size();
        if (several) add("runs", "All runs as left, whatever the gas", every, Read::retention);
        add("calibration", "Runs on the calibration gas, as left", in.calibration_gas, Read::all);
        add("proving",
            "Runs on the proving gas, as left",
            in.proving_gas,
            Read::retention_and_total);
        for (auto const& [stream, runs] : in.line_gas)
            add("line " + stream,
                fmt::format("Runs on line gas, stream {}, as left", stream),
                runs,
                Read::retention_and_total);
    }
    return Json{
        {"visit", visit.visit}, {"last_entry", visit.last}, {"sources", std::move(sources)}};
}

}  // namespace gw::desk
