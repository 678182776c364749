#include "visit/proof_evidence.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "metrology/precision.hpp"
#include "visit/proof_series.hpp"

namespace gw::visit {

using metrology::Verdict;

namespace {

Finding const* find(Proof const& proof, std::string const& id) {
    for (auto const& f : proof.findings)
        if (f.id == id) return &f;
    return nullptr;
}

// The runs of each gas and stream, in the order given.
struct Group {
    std::string gas, stream;
    std::vector<ValuedRun const*> runs;
    [[nodiscard]] std::vector<double> cv() const {
        std::vector<double> out;
        for (auto const* r : runs) out.push_back(r->cv);
        return out;
    }
};
std::vector<Group> groups_of(Proof const& proof) {
    std::vector<Group> out;
    for (auto const& line : proof.runs) {
        if (out.empty() || out.back().gas != line.gas || out.back().stream != line.stream)
            out.push_back({line.gas, line.stream, {}});
        out.back().runs.push_back(&line.run);
    }
    return out;
}

void look_for_carry_over(Group const& group, ProofEvidence& out) {
    auto const cv = group.cv();
    if (cv.size() < 4 || group.gas == "line") return;  // line gas changes by itself
    std::vector<double> const rest(cv.begin() + 1, cv.end());
    double const m = metrology::mean(rest), s = metrology::standard_deviation(rest);
    auto const n = static_cast<double>(rest.size());
    CarryOver c{group.gas, group.stream, 100 * (cv.front() / m - 1), 0, false};
    c.limit_percent = 100 * metrology::student_t(0.995, n - 1) * s * std::sqrt(1 + 1 / n) / m;
    // A spread of rounding alone makes no limit.
    c.seen = std::abs(c.first_off_percent) > std::max(c.limit_percent, 1e-6);
    out.carry_over.push_back(std::move(c));
}

void look_for_outliers(Group const& group, ProofEvidence& out) {
    if (group.gas == "line") return;
    auto const standing = metrology::judged(group.cv());
    for (std::size_t i = 0; i < standing.size(); ++i) {
        if (standing[i].standing == metrology::Standing::accepted) continue;
        out.outstanding.push_back({group.gas,
                                   group.stream,
                                   group.runs[i]->source,
                                   standing[i].reason,
                                   standing[i].standing == metrology::Standing::outlier});
    }
}

std::optional<double> mean_ambient(std::vector<ProofRun> const& runs) {
    std::vector<double> all;
    for (auto const& run : runs) {
        if (!run.ambient_kpa) return std::nullopt;
        all.push_back(*run.ambient_kpa);
    }
    if (all.empty()) return std::nullopt;
    return metrology::mean(all);
}

void correct_totals(ProofInputs const& in, Proof const& proof, ProofEvidence& out) {
    auto const at_calibration = mean_ambient(in.calibration_gas);
    if (!at_calibration) return;
    auto const correct =
        [&](std::string const& gas, std::string const& stream, std::vector<ProofRun> const& runs) {
            auto const here = mean_ambient(runs);
            if (!here) return;
            std::vector<double> totals;
            for (auto const& line : proof.runs)
                if (line.gas == gas && line.stream == stream && line.run.total)
                    totals.push_back(100 * *line.run.total);
            if (totals.empty()) return;
            double const total = metrology::mean(totals);
            // The loop is vented: the amount injected goes with the pressure of the air.
            out.corrected_totals.push_back(
                {gas, stream, total, total * *at_calibration / *here, *here, *at_calibration});
        };
    correct("proving", "", in.proving_gas);
    for (auto const& [stream, runs] : in.line_gas) correct("line", stream, runs);
}

std::vector<WeakerProof> ladder() {
    return {
        {"an older cylinder, authenticated against a new one",
         "a bias larger than the two cylinders' uncertainty together",
         "an error both share; a composition that changed in store"},
        {"a spot sample sent to a laboratory",
         "a bias of the whole chain, sampling included, within that laboratory's reproducibility",
         "an error smaller than about the laboratory's own; changes between sample and result"},
        {"a neighbouring analyser on the same gas",
         "a difference between the two",
         "which of them is wrong; an error of a calibration gas both use"},
        {"speed of sound from an ultrasonic meter against that of the composition",
         "gross errors: lost nitrogen, hydrogen or heavy ends",
         "errors that leave molar mass and heat capacity as they are"},
        {"the pattern of the response factors against passport or publication",
         "a wrong certificate entry, a wrong cut, co-elution",
         "an error that all factors share; truth"}};
}

void plan_runs(ProofInputs const& in, Proof const& proof, ProofEvidence& out) {
    auto const* criterion = in.criteria.find("cv_bias");
    if (criterion == nullptr || !criterion->high || !criterion->low) return;
    auto& plan = out.runs_needed;
    auto const* bias = find(proof, "cv_bias");
    auto const* scatter = find(proof, "cv_repeatability");
    if (scatter == nullptr || !scatter->value) {
        plan.why = "Three runs on any gas are needed first: they show the scatter.";
        return;
    }
    double const s = *scatter->value;
    double fixed_u = 0, room = std::min(*criterion->high, -*criterion->low);
    bool known = false;
    if (bias != nullptr && bias->value && bias->u && bias->n && *bias->n > 1) {
        double const of_mean = s / std::sqrt(static_cast<double>(*bias->n));
        fixed_u = std::sqrt(std::max(0.0, *bias->u * *bias->u - of_mean * of_mean));
        room = std::min(*criterion->high - *bias->value, *bias->value - *criterion->low);
        known = true;
    } else {
        double squares = 0;
        for (auto const* cylinder : {&in.calibration_cylinder, &in.proving_cylinder}) {
            if (!*cylinder) continue;
            auto const value = assay::certified_calorific_value(**cylinder, in.reference);
            if (value && value->u) squares += std::pow(100 * *value->u / value->value, 2);
        }
        fixed_u = std::sqrt(squares);
    }
    if (!(room > 0)) {
        plan.why = "The bias itself lies at or beyond the limit: more runs do not change that.";
        return;
    }
    if (auto const n = metrology::runs_needed(s, fixed_u, room, criterion->k)) {
        plan.runs = n;
        plan.why = known ? "With the bias and scatter seen so far."
                         : "With the scatter seen and a bias of nothing; any bias asks for more.";
        if (in.method && in.method->cycle_s > 0)
            plan.minutes = static_cast<double>(n) * in.method->cycle_s / 60;
    } else {
        plan.why = fmt::format(
            "No number of runs decides it: the cylinders alone leave u = {:.3g} %, and {:.3g} % of "
            "room is left. A better certificate is needed.",
            fixed_u,
            room);
    }
}

void say_what_would_have_to_be_true(ProofInputs const& in, Proof const& proof, ProofEvidence& out) {
    auto const* bias = find(proof, "cv_bias");
    auto& says = out.wrong_if;
    if (bias == nullptr || !bias->value) {
        says.emplace_back(
            "Nothing shows truth here: any common error of certificate and calibration would pass "
            "unseen.");
        return;
    }
    double const value = *bias->value;
    auto const serial = in.proving_cylinder ? in.proving_cylinder->serial : std::string("proving");
    bool const inside = bias->low && bias->high && value >= *bias->low && value <= *bias->high;
    if (bias->low && bias->high && bias->u) {
        double const room = inside ? std::min(*bias->high - value, value - *bias->low)
                                   : std::max(value - *bias->high, *bias->low - value);
        if (inside && bias->verdict == Verdict::meets)
            says.push_back(
                fmt::format("For \"meets\" to be wrong the true bias would have to be at least "
                            "{:.3g} % away from "
                            "the {:.3g} % seen: {:.2g} standard uncertainties.",
                            room,
                            value,
                            room / *bias->u));
        else if (!inside && bias->verdict == Verdict::fails)
            says.push_back(fmt::format(
                "For \"fails\" to be wrong the certified value of {} would have to be off by at "
                "least {:.3g} %, {:.2g} standard uncertainties of all that is known, or the runs "
                "not be of that gas.",
                serial,
                room,
                room / *bias->u));
        else if (bias->verdict == Verdict::unclear)
            says.push_back(
                fmt::format("The limit lies inside the uncertainty: a true bias {:.3g} % away from "
                            "the one seen "
                            "would change the answer, and {:.2g} % is one standard uncertainty.",
                            room,
                            *bias->u));
    } else if (!bias->u) {
        says.emplace_back(
            "A certificate without uncertainty may be wrong by any amount: the verdict rests on "
            "trust.");
    }
    if (bias->verdict != Verdict::meets) return;
    if (out.shared_parent)
        says.emplace_back(
            out.shared_u_percent
                ? fmt::format("Both cylinders would have to be wrong alike: nothing states that "
                              "they share no parent, and what they share (u up to {:.2g} %) "
                              "cancels in the comparison.",
                              *out.shared_u_percent)
                : "Both cylinders would have to be wrong alike: nothing states that they share no "
                  "parent, and what they share cancels in the comparison.");
    says.emplace_back(
        "The line gas would have to lie where neither cylinder is: a wrong cut or a curved "
        "response "
        "shows only where the ratios differ from those of both cylinders.");
    says.emplace_back(
        "The sample would have to differ from the line: condensation, carry-over or a leak before "
        "the analyser is not seen by gas from a cylinder.");
}

}  // namespace

ProofEvidence proof_evidence(ProofInputs const& in, Proof const& proof) {
    ProofEvidence out;
    out.shared_parent = shares_parent(in);
    out.shared_u_percent = proof.evidence.shared_u_percent;
    for (auto const& group : groups_of(proof)) {
        look_for_carry_over(group, out);
        look_for_outliers(group, out);
    }
    correct_totals(in, proof, out);
    for (auto const* id : {"cv_bias", "wobbe_bias", "density_bias"})
        if (auto const* f = find(proof, id); f != nullptr && f->value && f->u && *f->u > 0)
            out.consistency.push_back({id, *f->value / (2 * *f->u)});
    auto const* bias = find(proof, "cv_bias");
    if (bias == nullptr || !bias->value) out.ladder = ladder();
    plan_runs(in, proof, out);
    say_what_would_have_to_be_true(in, proof, out);
    return out;
}

Json proof_evidence_json(ProofEvidence const& e) {
    Json consistency = Json::array(), carry = Json::array(), outstanding = Json::array(),
         totals = Json::array(), ladder = Json::array();
    for (auto const& c : e.consistency)
        consistency.push_back({{"id", c.quantity},
                               {"E_n", c.normalised_error},
                               {"consistent", std::abs(c.normalised_error) <= 1}});
    for (auto const& c : e.carry_over)
        carry.push_back({{"gas", c.gas},
                         {"first_run_off_percent", c.first_off_percent},
                         {"limit_percent", c.limit_percent},
                         {"seen", c.seen}});
    for (auto const& o : e.outstanding)
        outstanding.push_back({{"gas", o.gas},
                               {"run", o.source},
                               {"kind", o.outlier ? "outlier" : "straggler"},
                               {"reason", o.reason},
                               {"kept", true}});
    for (auto const& t : e.corrected_totals) {
        Json one{{"gas", t.gas},
                 {"as_found", t.as_found},
                 {"corrected", t.corrected},
                 {"ambient_kpa", t.run_kpa},
                 {"calibration_ambient_kpa", t.calibration_kpa}};
        if (!t.stream.empty()) one["stream"] = t.stream;
        totals.push_back(std::move(one));
    }
    for (auto const& w : e.ladder)
        ladder.push_back(
            {{"proof", w.proof}, {"shows", w.shows}, {"does_not_show", w.does_not_show}});
    return Json{
        {"wrong_if", e.wrong_if},
        {"consistency", consistency},
        {"shared_parent", e.shared_parent},
        {"shared_u_percent", e.shared_u_percent ? Json(*e.shared_u_percent) : Json(nullptr)},
        {"carry_over", carry},
        {"outstanding_runs", outstanding},
        {"totals_at_one_pressure", totals},
        {"runs_needed",
         {{"runs", e.runs_needed.runs ? Json(*e.runs_needed.runs) : Json(nullptr)},
          {"minutes", e.runs_needed.minutes ? Json(*e.runs_needed.minutes) : Json(nullptr)},
          {"why", e.runs_needed.why}}},
        {"weaker_proofs", ladder}};
}

std::string proof_evidence_text(ProofEvidence const& e) {
    std::string out;
    if (!e.wrong_if.empty()) {
        out += "\nWhat would have to be true for this to be wrong:\n";
        for (auto const& s : e.wrong_if) out += "  - " + s + "\n";
    }
    for (auto const& c : e.consistency)
        out += fmt::format("{}: E_n {} ({}consistent; this is no conformity)\n",
                           c.quantity,
                           fixed(c.normalised_error, 2),
                           std::abs(c.normalised_error) <= 1 ? "" : "not ");
    for (auto const& c : e.carry_over)
        if (c.seen)
            out += fmt::format(
                "The first run on the {} gas stands off by {} % (scatter: {} %): carry-over from "
                "the gas before?\n",
                c.gas,
                fixed(c.first_off_percent, 4),
                fixed(c.limit_percent, 4));
    for (auto const& o : e.outstanding)
        out += fmt::format("{} ({} gas) stands out: {}. It is kept.\n", o.source, o.gas, o.reason);
    for (auto const& t : e.corrected_totals)
        out += fmt::format(
            "Total on the {} gas: {} mol% as found, {} mol% at the pressure of the "
            "air of the calibration.\n",
            t.gas,
            fixed(t.as_found, 3),
            fixed(t.corrected, 3));
    if (e.runs_needed.runs)
        out += fmt::format("Runs on the proving gas needed for the limit: {}{}. {}\n",
                           *e.runs_needed.runs,
                           e.runs_needed.minutes
                               ? fmt::format(" ({} minutes)", fixed(*e.runs_needed.minutes, 0))
                               : "",
                           e.runs_needed.why);
    else if (!e.runs_needed.why.empty())
        out += e.runs_needed.why + "\n";
    if (!e.ladder.empty()) {
        out += "\nWithout a proving gas, weaker proofs, strongest first:\n";
        for (auto const& w : e.ladder)
            out += fmt::format(
                "  - {}: shows {}; does not show {}.\n", w.proof, w.shows, w.does_not_show);
    }
    return out;
}

}  // namespace gw::visit
