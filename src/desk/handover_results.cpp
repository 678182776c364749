// What the analyser read: findings, line gas stream by stream, traces, factors.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "assay/factor_evidence.hpp"
#include "base/base.hpp"
#include "desk/handover_cells.hpp"
#include "desk/load.hpp"
#include "desk/trace_draw.hpp"
#include "gas/gas.hpp"
#include "report/comparison.hpp"
#include "report/handover_figures.hpp"

namespace gw::desk {

namespace {

using metrology::Finding;
using report::Align;
using report::Cell;
using report::Column;
using report::Heading;
using report::Paragraph;
using report::Table;

Cell verdict_cell(Finding const* finding) {
    if (finding == nullptr) return {"not judged", {}, false};
    auto text = finding->value ? metrology::value_text(*finding) : std::string();
    if (finding->provisional) text += " (provisional)";
    return {text, finding->verdict, false};
}

// As left less as found, where both have a value in one unit.
std::string difference_of(report::Pairing const& pair) {
    if (!pair.found || !pair.left || !pair.found->value || !pair.left->value ||
        pair.found->unit != pair.left->unit)
        return "";
    double const change = *pair.left->value - *pair.found->value;
    return fmt::format("{:+.3g} {}", change == 0 ? 0.0 : change, pair.left->unit);
}

std::string mean_and_sd(std::vector<double> const& values, int decimals) {
    if (values.empty()) return "not run";
    auto text = fixed(metrology::mean(values), decimals);
    if (values.size() > 1)
        text += fmt::format(
            " (s {}, n {})", fixed(metrology::standard_deviation(values), decimals), values.size());
    return text;
}

// How C6+ is split for its calorific value: the method's, else the usual one.
gas::Characterisation split_of(JudgedState const& state) {
    auto const& method = state.inputs.method;
    return method && !method->characterisation.parts.empty() ? method->characterisation
                                                             : gas::default_characterisation();
}

std::string split_words(gas::Characterisation const& split) {
    std::vector<std::string> parts;
    for (auto const& [component, share] : split.parts)
        parts.push_back(fmt::format("{} {} %", gas::name(component), fixed(100 * share, 2)));
    return joined(parts, ", ");
}

// Ideal-gas calorific value and the real relative density of the mean composition.
std::string properties_of_mean(JudgedState const* state,
                               std::vector<visit::ValuedRun const*> const& runs,
                               bool ideal) {
    if (state == nullptr || runs.empty()) return "not run";
    auto mean = runs.front()->gas;
    for (std::size_t i = 0; i < mean.x.size(); ++i) {
        mean.x[i] = 0;
        for (auto const* run : runs)
            mean.x[i] +=
                amount(*run, mean.components[i]).value_or(0) / static_cast<double>(runs.size());
    }
    mean.V = {};
    auto const made =
        gas::properties_of(gas::expanded(mean, split_of(*state)), state->inputs.reference);
    if (!made) return made.error().what;
    if (auto const* iso = std::get_if<gas::Iso6976>(&*made))
        return ideal ? fmt::format("{} MJ/m3", fixed(iso->ideal.gross_cv_volume.value, 3))
                     : fixed(iso->real.relative_density.value, 5);
    return "see visit.json";
}

Table stream_table(HandoverFacts const& facts, std::string const& stream) {
    Table out;
    out.caption = "Stream " + stream;
    out.columns = {{"Quantity", 2.2, Align::left},
                   {"As found", 2, Align::right},
                   {"As left", 2, Align::right}};
    auto const *found = facts.judged("as_found"), *left = facts.judged("as_left");
    auto const before = runs_of(found, "line", stream), after = runs_of(left, "line", stream);
    auto const unit = left != nullptr    ? left->proof.cv_unit
                      : found != nullptr ? found->proof.cv_unit
                                         : std::string();
    auto const row = [&](std::string const& title, std::string a, std::string b) {
        out.rows.push_back(
            {{title, {}, false}, {std::move(a), {}, false}, {std::move(b), {}, false}});
    };
    auto const cv = [](auto const& run) { return std::optional(run.cv); };
    auto const total = [](auto const& run) {
        return run.total ? std::optional(100 * *run.total) : std::nullopt;
    };
    row("Calorific value, real, " + unit,
        mean_and_sd(each(before, cv), 3),
        mean_and_sd(each(after, cv), 3));
    row("Calorific value, ideal",
        properties_of_mean(found, before, true),
        properties_of_mean(left, after, true));
    row("Relative density, real",
        properties_of_mean(found, before, false),
        properties_of_mean(left, after, false));
    row("Sum before normalising, mol%",
        mean_and_sd(each(before, total), 3),
        mean_and_sd(each(after, total), 3));
    std::vector<gas::Component> components;
    for (auto const* runs : {&before, &after})
        for (auto const* run : *runs)
            for (auto const component : run->gas.components)
                if (std::find(components.begin(), components.end(), component) == components.end())
                    components.push_back(component);
    for (auto const component : components) {
        auto const normal = [&](auto const& run) {
            auto const x = amount(run, component);
            return x ? std::optional(100 * *x) : std::nullopt;
        };
        auto const as_measured = [&](auto const& run) {
            auto const x = amount(run, component);
            return x && run.total ? std::optional(100 * *x * *run.total) : std::nullopt;
        };
        auto const both = [&](auto const& runs) {
            auto const a = each(runs, normal), b = each(runs, as_measured);
            if (a.empty()) return std::string("not run");
            return fmt::format("{} ({})",
                               fixed(metrology::mean(a), 4),
                               b.empty() ? "-" : fixed(metrology::mean(b), 4));
        };
        row(fmt::format("{}, mol%", gas::name(component)), both(before), both(after));
    }
    return out;
}

assay::Calibration const* calibration_of_state(HandoverFacts const& facts,
                                               std::string const& basis) {
    auto const* state = facts.judged(basis);
    return state == nullptr || !state->inputs.calibration ? nullptr : &*state->inputs.calibration;
}

std::vector<report::DotPoint> pattern_points(assay::Calibration const* calibration) {
    std::vector<report::DotPoint> out;
    if (calibration == nullptr) return out;
    std::vector<assay::FactorPoint> points;
    for (auto const& factor : calibration->factors)
        points.push_back({factor.component,
                          factor.value,
                          factor.value == 0 ? 0 : factor.u / factor.value,
                          factor.detector});
    for (auto const& point : assay::factor_evidence(points, calibration->heavy_end).pattern)
        out.push_back({std::string(gas::name(point.component)), 100 * point.departure});
    return out;
}

// The last run of a kind, as a figure; none when it is no trace.
std::optional<report::TraceFigure> last_trace(HandoverFacts const& facts,
                                              std::string const& gas,
                                              std::string const& basis,
                                              std::string const& stream) {
    visit::Evidence const* last = nullptr;
    facts.each_step([&](visit::StageView const&, visit::StepView const& step) {
        if (step.step->wants != visit::Wants::run || step.step->gas != gas ||
            step.step->basis != basis)
            return;
        for (auto const& evidence : step.evidence)
            if (evidence.standing == visit::Standing::current && !evidence.sha256.empty() &&
                (stream.empty() || evidence.stream == stream))
                last = &evidence;
    });
    auto const bytes = facts.bytes(last);
    if (!bytes) return std::nullopt;
    auto run = run_of(*bytes, last->file);
    if (!run || !std::holds_alternative<trace::Trace>(*run)) return std::nullopt;
    auto const* state = facts.judged(basis);
    auto figure =
        trace_figure(std::get<trace::Trace>(*std::move(run)),
                     state != nullptr && state->inputs.method ? &*state->inputs.method : nullptr);
    figure.title = basis == "as_found" ? "As found" : "As left";
    figure.subtitle = fmt::format("{} gas{}, last run, {}",
                                  gas,
                                  stream.empty() ? "" : ", stream " + stream,
                                  short_time(last->at));
    return figure;
}

report::Picture picture_of(report::TraceFigure figure) {
    report::Picture out;
    out.description = report::trace_description(figure);
    out.height = 178;
    out.draw = [figure = std::move(figure)](report::Canvas& canvas, report::Box box) {
        report::draw_trace(canvas, box, figure, {6.2, false, true});
    };
    return out;
}

}  // namespace

// With its sign; a nothing has none.
std::string signed_fixed(double value, int decimals) {
    auto const text = fixed(value, decimals);
    return value > 0 && text.find_first_of("123456789") != std::string::npos ? "+" + text : text;
}

std::vector<visit::ValuedRun const*> runs_of(JudgedState const* state,
                                             std::string const& gas,
                                             std::string const& stream) {
    std::vector<visit::ValuedRun const*> out;
    if (state == nullptr) return out;
    for (auto const& line : state->proof.runs)
        if (line.gas == gas && line.stream == stream) out.push_back(&line.run);
    return out;
}

std::vector<std::string> streams_of(HandoverFacts const& facts) {
    std::vector<std::string> out;
    for (auto const* basis : {"as_found", "as_left"})
        if (auto const* state = facts.judged(basis))
            for (auto const& line : state->proof.runs)
                if (line.gas == "line" &&
                    std::find(out.begin(), out.end(), line.stream) == out.end())
                    out.push_back(line.stream);
    std::sort(out.begin(), out.end());
    return out;
}

std::optional<double> amount(visit::ValuedRun const& run, gas::Component component) {
    for (std::size_t i = 0; i < run.gas.components.size(); ++i)
        if (run.gas.components[i] == component) return run.gas.x[i];
    return std::nullopt;
}

std::vector<report::TraceFigure> leading_traces(HandoverFacts const& facts) {
    std::vector<report::TraceFigure> out;
    for (auto const* basis : {"as_found", "as_left"})
        if (auto figure = last_trace(facts, "calibration", basis, ""))
            out.push_back(*std::move(figure));
    return out;
}

Blocks findings_section(HandoverFacts const& facts) {
    std::vector<Finding> found, left;
    for (auto const& finding : facts.findings.findings)
        (finding.basis == "as_found" ? found : left).push_back(finding);
    Table table;
    table.columns = {{"Finding (* required)", 3, Align::left},
                     {"As found", 2, Align::left},
                     {"As left", 2, Align::left},
                     {"Left less found", 1.1, Align::right},
                     {"Limits", 1.5, Align::left}};
    table.type_size = 6.8;
    table.if_empty = "Nothing was judged.";
    for (auto const& pair : report::paired(found, left)) {
        auto const& last = pair.latest();
        table.rows.push_back(
            {{report::title_of(last) + (last.required ? "\u00A0*" : ""), {}, last.required},
             verdict_cell(pair.found ? &*pair.found : nullptr),
             verdict_cell(pair.left ? &*pair.left : nullptr),
             {difference_of(pair), {}, false},
             {last.low || last.high ? metrology::limit_text(last) : "none", {}, false}});
    }
    Blocks out;
    out.emplace_back(Heading{"Findings, as found and as left", 1});
    out.emplace_back(Paragraph{
        "Values with expanded uncertainty. What was not judged in one state has no evidence in it. "
        "Rules and sources of the limits stand under \"Limits as they were that day\"."});
    out.emplace_back(std::move(table));
    for (auto const& finding : facts.findings.findings)
        if (!finding.note.empty() &&
            (finding.required || finding.verdict == metrology::Verdict::fails))
            out.emplace_back(soft(report::title_of(finding) +
                                  (finding.basis == "as_found" ? ", as found: " : ": ") +
                                  finding.note));
    for (auto const& warning : facts.findings.warnings) out.emplace_back(soft(warning));
    return out;
}

Blocks streams_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Line gas, stream by stream", 1});
    auto const streams = streams_of(facts);
    if (streams.empty()) {
        out.emplace_back(soft("No run on line gas was handed in."));
        return out;
    }
    auto const* state =
        facts.judged("as_left") != nullptr ? facts.judged("as_left") : facts.judged("as_found");
    out.emplace_back(Paragraph{fmt::format(
        "Amounts normalised; in brackets as measured, before normalising. {}. Means of the runs "
        "with "
        "standard deviation s and number n. C6+ is one peak; its split for the calorific value is "
        "{}.",
        gas::title_of(state->inputs.reference),
        split_words(split_of(*state)))});
    for (auto const& stream : streams) out.emplace_back(stream_table(facts, stream));
    return out;
}

Blocks traces_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Traces, as found beside as left", 1});
    std::vector<std::pair<std::string, std::string>> wanted = {{"calibration", ""},
                                                               {"proving", ""}};
    for (auto const& stream : streams_of(facts)) wanted.emplace_back("line", stream);
    bool any = false;
    for (auto const& [gas, stream] : wanted) {
        report::Pictures pair;
        for (auto const* basis : {"as_found", "as_left"})
            if (auto figure = last_trace(facts, gas, basis, stream))
                pair.each.push_back(picture_of(*std::move(figure)));
        if (pair.each.empty()) continue;
        any = true;
        out.emplace_back(std::move(pair));
    }
    if (any)
        out.emplace_back(
            soft("Heights by the square root, so that small peaks are seen. Every run is kept "
                 "whole under "
                 "runs/ in the bundle, with its SHA-256 below."));
    else
        out.emplace_back(soft("No trace was handed in."));
    return out;
}

Blocks factors_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Response factors and their pattern", 1});
    auto const *found = calibration_of_state(facts, "as_found"),
               *left = calibration_of_state(facts, "as_left");
    if (found == nullptr && left == nullptr) {
        out.emplace_back(soft("No calibration was handed in, and none could be worked out."));
        return out;
    }
    Table table;
    table.columns = {{"Component", 1.6, Align::left},
                     {"As found", 1.2, Align::right},
                     {"As left", 1.2, Align::right},
                     {"u, as left", 1, Align::right},
                     {"Change, %", 1, Align::right},
                     {"Area, as left, last run", 1.3, Align::right},
                     {"Retention, s, found / left", 1.6, Align::right}};
    auto const& order = left != nullptr ? left->factors : found->factors;
    auto const* state = facts.judged("as_left");
    for (auto const& factor : order) {
        auto const* before = found == nullptr ? nullptr : found->find(factor.component);
        auto const* after = left == nullptr ? nullptr : left->find(factor.component);
        std::string area = "-";
        if (state != nullptr && !state->inputs.calibration_gas.empty() &&
            state->inputs.calibration_gas.back().areas)
            if (auto const* peak =
                    state->inputs.calibration_gas.back().areas->find(factor.component))
                area = fixed(peak->area, 3);
        table.rows.push_back(
            {{std::string(gas::name(factor.component)), {}, false},
             before == nullptr ? Cell{"-", {}, false}
                               : Cell{fmt::format("{:.6g}", before->value / 100), {}, false},
             after == nullptr ? Cell{"-", {}, false}
                              : Cell{fmt::format("{:.6g}", after->value / 100), {}, false},
             after == nullptr ? Cell{"-", {}, false}
                              : Cell{fmt::format("{:.2g}", after->u / 100), {}, false},
             before != nullptr && after != nullptr && before->value != 0
                 ? Cell{signed_fixed(100 * (after->value / before->value - 1), 2), {}, false}
                 : Cell{"-", {}, false},
             {area, {}, false},
             {fmt::format("{} / {}",
                          before == nullptr ? "-" : fixed(before->retention_s, 2),
                          after == nullptr ? "-" : fixed(after->retention_s, 2)),
              {},
              false}});
    }
    out.emplace_back(
        Paragraph{"Area per mol%; u is standard uncertainty of certificate and runs."});
    out.emplace_back(std::move(table));
    report::Pictures pictures;
    for (auto const& [title, calibration] :
         {std::pair("Pattern, as found", found), std::pair("Pattern, as left", left)}) {
        auto points = pattern_points(calibration);
        if (points.empty()) continue;
        report::Picture picture;
        picture.title = title;
        picture.description =
            fmt::format("{}: departure of each factor from the published response, percent", title);
        for (auto const& point : points)
            picture.description += fmt::format("; {} {}", point.name, fixed(point.value, 2));
        picture.height = 150;
        picture.draw = [points](report::Canvas& canvas, report::Box box) {
            report::draw_dots(canvas, box, points, "%");
        };
        pictures.each.push_back(std::move(picture));
    }
    if (!pictures.each.empty()) {
        out.emplace_back(std::move(pictures));
        out.emplace_back(
            soft("Departure of each factor from the published relative molar response in helium, "
                 "less the "
                 "middle of its detector. A wrong entry or a cut peak stands out of the row."));
    }
    return out;
}

}  // namespace gw::desk
