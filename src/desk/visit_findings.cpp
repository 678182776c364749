#include "desk/visit_findings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "assay/cylinder_check.hpp"
#include "base/base.hpp"
#include "desk/cylinder_pressure.hpp"
#include "desk/load.hpp"
#include "desk/prove.hpp"
#include "trace/series_table.hpp"
#include "visit/run_findings.hpp"
#include "visit/thing.hpp"
#include "visit/unit.hpp"
#include "visit/visit.hpp"

namespace gw::desk {

namespace {

using metrology::Criterion;
using metrology::Finding;
using metrology::Rule;
using metrology::Verdict;
using visit::Evidence;
using visit::StepView;
using visit::VisitState;

struct Kept {
    std::string bytes, name, sha256, at;
};

class Maker {
  public:
    Maker(VisitState const& visit, store::Store const& store, RunCache* cache)
        : visit_(visit), store_(store), cache_(cache) {}

    VisitFindings make() {
        std::string const criteria = visit_.judging.value("criteria", "custody");
        auto set = load_criteria(criteria);
        if (!set) {
            out_.warnings.push_back(one_line(set.error()));
            return std::move(out_);
        }
        criteria_ = *std::move(set);
        compatibility();
        certificates();
        proof("as_found");
        readings();
        settled();
        proof("as_left");
        provisional();
        instruments();
        out_.criteria = criteria_;
        return std::move(out_);
    }

  private:
    // The steps of the plan's own stages, then those of the ways back.
    template <class Visit>
    void each_step(Visit const& look) const {
        for (auto const& stage : visit_.stages)
            for (auto const& step : stage.steps) look(step);
    }

    std::optional<Kept> kept(Evidence const& evidence) {
        if (evidence.sha256.empty()) return std::nullopt;
        auto bytes = store_.evidence(evidence.sha256);
        if (!bytes) {
            out_.warnings.push_back(one_line(bytes.error()));
            return std::nullopt;
        }
        return Kept{*std::move(bytes), evidence.file, evidence.sha256, evidence.at};
    }

    // The file that now stands for a role: of that basis, else of none.
    std::optional<Kept> file(std::string const& role,
                             std::string const& basis,
                             bool that_basis_only = false) {
        Evidence const* found = nullptr;
        bool exact = false;
        each_step([&](StepView const& step) {
            if (step.step->role != role) return;
            bool const same = step.step->basis == basis;
            if (!same && (that_basis_only || exact || !step.step->basis.empty())) return;
            if (auto const* stands = step.current(); stands != nullptr && !stands->sha256.empty()) {
                found = stands;
                exact = exact || same;
            }
        });
        return found == nullptr ? std::nullopt : kept(*found);
    }

    template <class Read>
    auto read(std::optional<Kept> const& file, Read const& how)
        -> std::optional<std::decay_t<decltype(*how(std::string_view(), std::string()))>> {
        if (!file) return std::nullopt;
        auto value = how(file->bytes, file->name);
        if (value) return *std::move(value);
        out_.warnings.push_back(one_line(value.error()));
        return std::nullopt;
    }

    void add(Finding finding) { out_.findings.push_back(std::move(finding)); }

    std::string known_of(std::string const& subject) {
        auto const line = store_.thing(subject);
        return line && *line ? (*line)->body : std::string();
    }

    Json known(std::string const& subject) {
        auto const body = known_of(subject);
        if (body.empty()) return nullptr;
        auto const document = parse_json(body, subject);
        return document ? document->root().raw() : Json(nullptr);
    }

    // What the spare declares against what the analyser needs.
    void compatibility() {
        Evidence const* module = nullptr;
        each_step([&](StepView const& step) {
            if (step.step->role == "module" && step.current() != nullptr) module = step.current();
        });
        if (module == nullptr) return;
        auto const analyser = known("analyser:" + visit_.analyser),
                   spare = known("module:" + module->value);
        Finding f;
        f.id = "compatibility";
        f.title = "Spare module against what the analyser needs";
        f.unit = "mismatches";
        auto const needs =
            analyser.is_object() ? analyser.value("needs", Json(nullptr)) : Json(nullptr);
        auto const offers =
            spare.is_object() ? spare.value("offers", Json(nullptr)) : Json(nullptr);
        if (!needs.is_object() || !offers.is_object()) {
            f.note =
                !needs.is_object()
                    ? fmt::format("Nothing is declared of what {} needs.", visit_.analyser)
                    : fmt::format("Nothing is declared of what module {} offers.", module->value);
        } else {
            auto const out = visit::compatibility(needs, offers);
            f.value = static_cast<double>(out.mismatches.size());
            std::vector<std::string> words;
            for (auto const& m : out.mismatches)
                words.push_back(
                    m.undeclared
                        ? fmt::format("{}: {} needed, nothing declared", m.capability, m.needed)
                        : fmt::format(
                              "{}: {} needed, {} offered", m.capability, m.needed, m.offered));
            f.note = joined(words, "; ");
        }
        judge_simple(f, std::nullopt, 0, "declared capabilities");
        add(std::move(f));
    }

    static void judge_simple(Finding& f,
                             std::optional<double> low,
                             std::optional<double> high,
                             std::string source) {
        Criterion limit;
        limit.low = low;
        limit.high = high;
        limit.unit = f.unit;
        limit.rule = Rule::simple;
        limit.required = false;
        limit.source = std::move(source);
        metrology::judge(f, &limit);
    }

    void certificates() {
        for (auto const& [role, gas] : {std::pair("calibration_cylinder", "calibration"),
                                        std::pair("proving_cylinder", "proving")}) {
            auto const first = file(role, "", true), second = file(role, "as_left", true);
            if (first) certificate(*first, gas, second ? "as_found" : "");
            if (second) certificate(*second, gas, "as_left");
        }
    }

    void certificate(Kept const& file, std::string const& gas, std::string const& basis) {
        auto const cylinder = read(std::optional(file), cylinder_of);
        auto const at = parse_instant(file.at, "at");
        if (!cylinder || !at) return;
        auto known = *cylinder;
        auto const reading = newest_pressure(visit_, store_, known.serial);
        if (reading) {
            known.pressure = reading->pressure;
            if (auto const& t = reading->temperature;
                t && (!known.coldest_recorded || *t < *known.coldest_recorded))
                known.coldest_recorded = t;
        }
        auto check = assay::cylinder_check(known, criteria_, {date_of(*at), std::nullopt});
        if (!check) {
            out_.warnings.push_back(one_line(check.error()));
            return;
        }
        for (auto& finding : check->findings) {
            finding.gas = gas;
            finding.basis = basis;
            finding.inputs = {file.sha256};
            if (reading && (finding.id == "pressure" || finding.id == "cold_exposure"))
                finding.inputs.push_back(reading->sha256);
            if (reading && finding.id == "pressure" && finding.note.empty())
                finding.note = "Read as " + reading->typed + ".";
            add(std::move(finding));
        }
    }

    std::vector<visit::ProofRun> runs(
        std::string const& gas,
        std::string const& basis,
        std::optional<assay::Method> const& method,
        std::map<std::string, std::vector<visit::ProofRun>>* by_stream) {
        std::vector<Evidence> items;
        each_step([&](StepView const& step) {
            if (step.step->wants != visit::Wants::run || step.step->gas != gas ||
                step.step->basis != basis)
                return;
            for (auto const& evidence : step.evidence)
                if (evidence.standing == visit::Standing::current && !evidence.sha256.empty())
                    items.push_back(evidence);
        });
        // What was read before is not fetched again; the rest is read by as many as there are.
        struct Item {
            std::optional<visit::ProofRun> known;
            Kept file;
        };
        auto const key_of = [&](std::string const& sha) {
            return sha + "|" + (method ? method->hash : "");
        };
        std::vector<Item> files;
        std::vector<std::string> streams;
        for (auto const& evidence : items) {
            Item item;
            if (cache_ != nullptr) item.known = cache_->find(key_of(evidence.sha256));
            if (item.known) {
                item.known->source = evidence.file;
            } else {
                auto bytes = kept(evidence);
                if (!bytes) continue;
                item.file = *std::move(bytes);
            }
            files.push_back(std::move(item));
            streams.push_back(evidence.stream.empty() ? "1" : evidence.stream);
        }
        auto const read_one = [&](Item& item) -> Result<visit::ProofRun> {
            if (item.known) return *std::move(item.known);
            GW_TRY(auto run, run_of(item.file.bytes, item.file.name));
            GW_TRY(auto made, proof_run(std::move(run), item.file.name, method));
            if (cache_ != nullptr) cache_->put(key_of(item.file.sha256), made);
            return made;
        };
        auto loaded = parallel_map(
            files.size(),
            [&](std::size_t i) {
                return std::optional<Result<visit::ProofRun>>(read_one(files[i]));
            },
            ParallelOptions{.chunk = 1});
        std::vector<visit::ProofRun> out;
        for (std::size_t i = 0; i < loaded.size(); ++i) {
            if (!*loaded[i]) {
                out_.warnings.push_back(one_line(loaded[i]->error()));
                continue;
            }
            if (by_stream != nullptr)
                (*by_stream)[streams[i]].push_back(**loaded[i]);
            else
                out.push_back(**loaded[i]);
        }
        return out;
    }

    void proof(std::string const& basis) {
        visit::ProofInputs in;
        in.criteria = criteria_;
        in.basis = basis;
        Document const judging(std::make_shared<Json const>(visit_.judging), "judging");
        auto reference = reference_of(judging.root(), out_.warnings);
        if (!reference) {
            out_.warnings.push_back(one_line(reference.error()));
            return;
        }
        in.reference = *reference;
        in.method = read(file("method", basis), method_of);
        in.calibration_cylinder = read(cylinder_file("calibration_cylinder", basis), cylinder_of);
        in.proving_cylinder = read(cylinder_file("proving_cylinder", basis), cylinder_of);
        // Where no proving gas is at hand, a new gas is held against the old one's factors.
        if (!in.proving_cylinder && basis == "as_found")
            in.proving_cylinder = read(file("calibration_cylinder", "as_left", true), cylinder_of);
        if (in.proving_cylinder) in.proving_cylinder->role = assay::CylinderRole::proving;
        in.calibration_gas = runs("calibration", basis, in.method, nullptr);
        in.proving_gas = runs("proving", basis, in.method, nullptr);
        std::map<std::string, std::vector<visit::ProofRun>> line;
        (void)runs("line", basis, in.method, &line);
        for (auto& [stream, list] : line) in.line_gas.emplace_back(stream, std::move(list));
        if (in.calibration_gas.empty() && in.proving_gas.empty() && in.line_gas.empty()) return;
        in.calibration = calibration(basis, in);
        if (basis == "as_left")
            in.previous = read(file("calibration", "as_found", true), calibration_of);
        in.on = day_of(visit_.end_at.empty() ? last_at(basis) : visit_.end_at);
        auto made = visit::prove(in);
        if (!made) {
            out_.warnings.push_back(fmt::format("Nothing could be judged {}: {}",
                                                basis == "as_found" ? "as found" : "as left",
                                                one_line(made.error())));
            return;
        }
        for (auto& finding : made->findings) {
            finding.basis = basis;
            add(finding);  // a copy: the proof that is kept below still needs its own
        }
        for (auto const& warning : made->warnings) out_.warnings.push_back(warning);
        auto alone = visit::run_findings(*made, criteria_);
        for (std::size_t i = 0; i < made->runs.size(); ++i) {
            auto const& [gas, stream, run] = made->runs[i];
            alone[i].basis = basis;
            out_.runs.push_back({run.hash,
                                 gas,
                                 stream,
                                 basis,
                                 run.cv,
                                 made->cv_unit,
                                 run.total,
                                 std::move(alone[i])});
        }
        out_.judged.emplace(basis, JudgedState{std::move(in), *std::move(made)});
    }

    // The certificate that was in the analyser at that time.
    std::optional<Kept> cylinder_file(std::string const& role, std::string const& basis) {
        return basis == "as_left" ? file(role, "as_left") : file(role, "");
    }

    // The calibration as it was kept; else worked out from the runs on the calibration gas.
    std::optional<assay::Calibration> calibration(std::string const& basis,
                                                  visit::ProofInputs const& in) {
        if (auto const stated = file("calibration", basis, true))
            return read(std::optional(*stated), calibration_of);
        if (basis != "as_left" || !in.method || !in.calibration_cylinder) return std::nullopt;
        std::vector<assay::RunAreas> areas;
        for (auto const& run : in.calibration_gas)
            if (run.areas) areas.push_back(*run.areas);
        if (areas.empty()) return std::nullopt;
        auto made = assay::calibrate(areas, *in.method, *in.calibration_cylinder);
        if (made) return *std::move(made);
        out_.warnings.push_back(one_line(made.error()));
        return std::nullopt;
    }

    static Date day_of(std::string const& instant) {
        auto const at = parse_instant(instant, "at");
        return at ? date_of(*at) : Date{};
    }

    std::string last_at(std::string const& basis) const {
        std::string out = visit_.opened;
        each_step([&](StepView const& step) {
            if (step.step->basis == basis && step.step->wants == visit::Wants::run &&
                step.current() != nullptr)
                out = step.current()->at;
        });
        return out;
    }

    // Typed readings that a step feeds to a finding.
    void readings() {
        std::map<std::string, double> rings;
        std::vector<std::string> rings_of;
        each_step([&](StepView const& step) {
            auto const* stands = step.current();
            if (stands == nullptr || !stands->number || stands->kind != visit::Wants::reading)
                return;
            auto const& plan = *step.step;
            if (plan.feeds == "rings_balance") {
                rings[plan.role] = *stands->number;
                return;
            }
            if (plan.feeds.empty() || (!plan.low && !plan.high)) return;
            auto const value = visit::converted(*stands->number, stands->unit, plan.unit);
            if (!value) return;
            Finding f;
            f.id = plan.feeds;
            f.title = plan.feeds == "leak_rate" ? "Leak rate with the ends shut" : plan.what;
            f.unit = plan.unit;
            f.value = *value;
            if (stands->u) f.u = visit::converted_difference(*stands->u, stands->unit, plan.unit);
            f.basis = "as_left";
            Criterion limit;
            limit.low = plan.low;
            limit.high = plan.high;
            limit.unit = plan.unit;
            limit.rule = f.u ? Rule::guarded : Rule::simple;
            limit.required = true;
            limit.source = plan.limit_source;
            metrology::judge(f, &limit);
            add(std::move(f));
        });
        if (rings.contains("rings_in") && rings.contains("rings_out")) {
            Finding f;
            f.id = "rings_balance";
            f.title = "Sealing rings in less rings out";
            f.unit = "rings";
            f.value = rings["rings_in"] - rings["rings_out"];
            f.basis = "as_left";
            judge_simple(f, 0, 0, "common practice, no source");
            f.required = true;
            add(std::move(f));
        }
    }

    void settled() {
        auto const series = file("settling_series", "");
        if (!series) return;
        auto const table = series_of(series->bytes, series->name);
        Finding f;
        f.id = "settled";
        f.title = "At rest: the change still to come is inside its limits";
        f.basis = "as_left";
        f.required = true;
        f.limit_source = "common practice, no source";
        f.inputs = {series->sha256};
        if (!table) {
            f.note = one_line(table.error());
        } else {
            auto const judged = visit::settle(*table, std::nullopt);
            f.verdict = judged.settled ? Verdict::meets : Verdict::not_yet;
            if (!judged.settled && judged.ready_at)
                f.note = fmt::format("ready at {}", table->time_text(*judged.ready_at));
        }
        is_settled_ = f.verdict == Verdict::meets;
        add(std::move(f));
    }

    // Design: what was found before settling and calibrating is provisional.
    void provisional() {
        bool pending = false;
        each_step([&](StepView const& step) {
            bool const settling = step.step->feeds == "settled";
            bool const accepting = step.step->name == "factors accepted";
            if ((settling || accepting) && step.state == visit::StepState::open) pending = true;
        });
        if (is_settled_ && !*is_settled_) pending = true;
        for (auto& finding : out_.findings)
            if (finding.basis == "as_left" && pending && finding.id != "settled" &&
                finding.id != "leak_rate" && finding.id != "rings_balance" && finding.n)
                finding.provisional = true;
    }

    void instruments() {
        std::set<std::string> told;
        each_step([&](StepView const& step) {
            for (auto const& evidence : step.evidence) {
                if (evidence.with.empty() || !told.insert(evidence.with).second) continue;
                auto const thing = known("instrument:" + evidence.with);
                if (!thing.is_object()) continue;
                auto const due = thing.find("calibration_due");
                if (due == thing.end() || !due->is_string()) continue;
                auto const day = parse_date(due->get<std::string>(), "calibration_due");
                if (day && *day < day_of(evidence.at))
                    out_.warnings.push_back(
                        fmt::format("Instrument {}: its calibration was due on {}, before it was "
                                    "used for \"{}\".",
                                    evidence.with,
                                    to_text(*day),
                                    step.step->name));
            }
        });
    }

    VisitState const& visit_;
    store::Store const& store_;
    RunCache* cache_;
    metrology::CriteriaSet criteria_;
    VisitFindings out_;
    std::optional<bool> is_settled_;
};

}  // namespace

std::optional<visit::ProofRun> RunCache::find(std::string const& key) const {
    std::lock_guard const lock(guard_);
    auto const found = runs_.find(key);
    return found == runs_.end() ? std::nullopt : std::optional(found->second);
}

void RunCache::put(std::string const& key, visit::ProofRun const& run) {
    std::lock_guard const lock(guard_);
    if (!runs_.emplace(key, run).second) return;
    order_.push_back(key);
    if (order_.size() <= most_) return;
    runs_.erase(order_.front());
    order_.pop_front();
}

VisitFindings visit_findings(visit::VisitState const& visit,
                             store::Store const& store,
                             RunCache* cache) {
    return Maker(visit, store, cache).make();
}

}  // namespace gw::desk
