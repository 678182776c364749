#include "desk/analyser_history.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "base/base.hpp"
#include "desk/load.hpp"
#include "desk/visit.hpp"
#include "desk/visit_findings.hpp"
#include "visit/thing.hpp"

namespace gw::desk {

namespace {

struct Row {
    std::map<std::string, double> readings;
    std::string event;
};
using Rows = std::map<std::int64_t, Row>;  ///< by milliseconds

std::string column_of(metrology::Finding const& f) {
    auto out = f.id;
    if (f.id == "unnormalised_total" && !f.gas.empty()) out += " " + f.gas;
    if (!f.stream.empty()) out += " " + f.stream;
    return out;
}

bool is_level(metrology::Finding const& f) {
    for (auto const* id : {"cv_bias",
                           "cv_self_check",
                           "cv_repeatability",
                           "unnormalised_total",
                           "factor_pattern",
                           "leak_rate"})
        if (f.id == id) return true;
    return f.id.rfind("component_bias:", 0) == 0 || f.id.rfind("factor_shift:", 0) == 0;
}

class Gather {
  public:
    Gather(store::Store const& store, Rows& rows, std::vector<std::string>& warnings)
        : store_(store), rows_(rows), warnings_(warnings) {}

    void visit(std::string const& id) {
        auto const loaded = load_visit(store_, id);
        if (!loaded) {
            warnings_.push_back(one_line(loaded.error()));
            return;
        }
        std::map<std::string, std::int64_t> last_run;
        std::int64_t last = moment(loaded->state.opened).value_or(0);
        for (auto const& stage : loaded->state.stages)
            for (auto const& step : stage.steps) step_of(step, last_run, last);
        for (auto const& f : visit_findings(loaded->state, store_).findings) {
            if (!f.value || !is_level(f)) continue;
            auto const at = last_run.find(f.basis);
            rows_[at == last_run.end() ? last : at->second].readings[column_of(f)] = *f.value;
        }
    }

  private:
    static std::optional<std::int64_t> moment(std::string const& text) {
        auto const at = parse_instant(text, "at");
        if (!at) return std::nullopt;
        return at->milliseconds;
    }

    void step_of(visit::StepView const& step,
                 std::map<std::string, std::int64_t>& last_run,
                 std::int64_t& last) {
        auto const* stands = step.current();
        if (stands == nullptr) return;
        auto const at = moment(stands->at);
        if (!at) return;
        last = std::max(last, *at);
        if (step.step->wants == visit::Wants::run) {
            auto& newest = last_run[step.step->basis];
            newest = std::max(newest, *at);
        }
        if (step.step->role == "module_in")
            rows_[*at].event = fmt::format("oven module in: {}", stands->value);
        if (step.step->role == "calibration" && !stands->sha256.empty()) calibration(*stands, *at);
    }

    void calibration(visit::Evidence const& evidence, std::int64_t at) {
        auto const bytes = store_.evidence(evidence.sha256);
        auto const read = bytes ? calibration_of(*bytes, evidence.file)
                                : Result<assay::Calibration>(pass_on(bytes.error()));
        if (!read) {
            warnings_.push_back(one_line(read.error()));
            return;
        }
        for (auto const& factor : read->factors) {
            auto const name = std::string(gas::name(factor.component));
            rows_[at].readings["factor:" + name] = factor.value;
            if (factor.retention_s > 0)
                rows_[at].readings["retention:" + name] = factor.retention_s;
        }
    }

    store::Store const& store_;
    Rows& rows_;
    std::vector<std::string>& warnings_;
};

}  // namespace

Result<History> analyser_history(store::Store const& store, std::string const& analyser) {
    GW_TRY(auto const subject, visit::thing_subject("analyser", analyser));
    GW_TRY(auto const known, store.thing(subject));
    if (!known)
        return fail(Errc::not_found,
                    fmt::format("No analyser \"{}\" is known.", analyser.substr(0, 60)),
                    "analyser",
                    "open a visit to it, or add it");
    GW_TRY(auto visits, store.visits({analyser, false, 0}));
    std::reverse(visits.begin(), visits.end());  // oldest first
    History out;
    out.id = subject;
    out.source = analyser;
    Rows rows;
    Gather gather(store, rows, out.series.warnings);
    for (auto const& line : visits) gather.visit(line.visit);
    if (rows.empty()) return out;
    auto& series = out.series;
    series.start = Instant{rows.begin()->first, 0};
    std::map<std::string, trace::SeriesColumn> columns;
    for (auto const& [at, row] : rows) {
        double const t = 1e-3 * static_cast<double>(at - rows.begin()->first);
        for (auto const& [name, value] : row.readings) {
            auto& column = columns[name];
            column.name = name;
            column.t.push_back(t);
            column.y.push_back(value);
            column.row.push_back(series.t.size());
        }
        series.t.push_back(t);
        series.events.push_back(row.event);
    }
    for (auto& [name, column] : columns) series.columns.push_back(std::move(column));
    return out;
}

}  // namespace gw::desk
