// What the analyser read: findings, streams, traces, factors, gases, settling, leak test, energy.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "assay/cylinder_check.hpp"
#include "assay/factor_evidence.hpp"
#include "base/base.hpp"
#include "bench/sum.hpp"
#include "desk/handover_facts.hpp"
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

Paragraph soft(std::string text) { return {std::move(text), false, true}; }

Cell number(double value, int decimals) { return {fixed(value, decimals), {}, false}; }
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

std::string mean_and_sd(std::vector<double> const& values, int decimals) {
    if (values.empty()) return "not run";
    auto text = fixed(metrology::mean(values), decimals);
    if (values.size() > 1)
        text += fmt::format(
            " (s {}, n {})", fixed(metrology::standard_deviation(values), decimals), values.size());
    return text;
}

template <class Value>
std::vector<double> each(std::vector<visit::ValuedRun const*> const& runs, Value const& value) {
    std::vector<double> out;
    for (auto const* run : runs)
        if (std::optional<double> const v = value(*run)) out.push_back(*v);
    return out;
}

std::optional<double> amount(visit::ValuedRun const& run, gas::Component component) {
    for (std::size_t i = 0; i < run.gas.components.size(); ++i)
        if (run.gas.components[i] == component) return run.gas.x[i];
    return std::nullopt;
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

Cell quantity_cell(std::optional<double> value, int decimals) {
    return {value ? fixed(*value, decimals) : "-", {}, false};
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
            {{report::title_of(last) + (last.required ? " *" : ""), {}, last.required},
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
                 ? Cell{fmt::format("{:+.2f}", 100 * (after->value / before->value - 1)), {}, false}
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

Blocks gases_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Gases and certificates", 1});
    struct Entered {
        std::string title, read_back;
        visit::Evidence const* evidence;
        assay::Cylinder cylinder;
    };
    std::vector<Entered> all;
    facts.each_step([&](visit::StageView const&, visit::StepView const& step) {
        auto const* stands = step.current();
        if (!step.step->role.ends_with("_cylinder") || stands == nullptr) return;
        auto const bytes = facts.bytes(stands);
        if (!bytes) return;
        auto cylinder = cylinder_of(*bytes, stands->file);
        if (!cylinder) return;
        std::string read_back = "not read back";
        facts.each_step([&](visit::StageView const&, visit::StepView const& reader) {
            if (visit::plain_name(reader.step->second_person_of) !=
                visit::plain_name(step.step->name))
                return;
            auto const* read = reader.current();
            if (reader.state == visit::StepState::done && read != nullptr)
                read_back = fmt::format("{}, {}", read->by, short_time(read->at));
            else if (reader.settled())
                read_back = std::string(visit::name(reader.state)) + ": " + reader.reason;
        });
        all.push_back({step.step->name, read_back, stands, *std::move(cylinder)});
    });
    if (all.empty()) {
        out.emplace_back(soft("No certificate was handed in."));
        return out;
    }
    Table about;
    about.columns = {{"Entered as", 1.9, Align::left},
                     {"Cylinder", 0.9, Align::left},
                     {"Laboratory", 1.3, Align::left},
                     {"Certified, expires", 1.4, Align::left},
                     {"Pressure, kPa", 0.8, Align::right},
                     {"Sum, mol%", 0.8, Align::right},
                     {"Entered", 1.6, Align::left},
                     {"Read back from the paper", 1.6, Align::left}};
    about.type_size = 6.6;
    for (auto const& entered : all) {
        auto const& c = entered.cylinder;
        double sum = 0;
        for (double const x : c.printed.x) sum += 100 * x;
        about.rows.push_back(
            {{entered.title, {}, false},
             {c.serial, {}, true},
             {c.laboratory, {}, false},
             {fmt::format("{}, {}",
                          c.certified ? to_text(*c.certified) : "not stated",
                          c.expires ? to_text(*c.expires) : "not stated"),
              {},
              false},
             {c.pressure ? fixed(in_kilopascal(*c.pressure), 0) : "-", {}, false},
             number(sum, 3),
             {fmt::format("{}, {}", entered.evidence->by, short_time(entered.evidence->at)),
              {},
              false},
             {entered.read_back, {}, false}});
    }
    out.emplace_back(std::move(about));
    Table amounts;
    amounts.caption = "Amounts as entered, mol%, with expanded uncertainty";
    amounts.columns.push_back({"Component", 1.5, Align::left});
    std::vector<gas::Component> components;
    for (auto const& entered : all) {
        amounts.columns.push_back(
            {entered.cylinder.serial + ", " + entered.title, 1.6, Align::right});
        for (auto const component : entered.cylinder.printed.components)
            if (std::find(components.begin(), components.end(), component) == components.end())
                components.push_back(component);
    }
    for (auto const component : components) {
        std::vector<Cell> row{{std::string(gas::name(component)), {}, false}};
        std::string first;
        for (auto const& entered : all) {
            auto const& printed = entered.cylinder.printed;
            std::string text = "-";
            for (std::size_t i = 0; i < printed.components.size(); ++i)
                if (printed.components[i] == component) {
                    text = shortest(std::round(1e6 * 100 * printed.x[i]) / 1e6);
                    if (printed.V.size() > i)
                        text += fmt::format(" \u00B1 {:.2g}", 200 * std::sqrt(printed.V(i, i)));
                }
            row.push_back({text, {}, false});
        }
        amounts.rows.push_back(std::move(row));
    }
    out.emplace_back(std::move(amounts));
    Table proof;
    proof.caption = "What the analyser read of the proving gas, mol%, normalised means";
    proof.columns = {{"Component", 1.5, Align::left},
                     {"Certificate", 1.2, Align::right},
                     {"As found", 1.2, Align::right},
                     {"Found less certificate", 1.4, Align::right},
                     {"As left", 1.2, Align::right},
                     {"Left less certificate", 1.4, Align::right}};
    proof.if_empty = "The proving gas was not run.";
    auto const *found = facts.judged("as_found"), *left = facts.judged("as_left");
    auto const* judged = left != nullptr ? left : found;
    if (judged != nullptr && judged->inputs.proving_cylinder) {
        auto const before = runs_of(found, "proving", ""), after = runs_of(left, "proving", "");
        auto const& any = !after.empty() ? after : before;
        if (!any.empty()) {
            auto const certified =
                visit::certified_amounts(*judged->inputs.proving_cylinder,
                                         any.front()->gas.components,
                                         judged->inputs.method ? &*judged->inputs.method : nullptr);
            for (std::size_t i = 0; i < any.front()->gas.components.size(); ++i) {
                auto const component = any.front()->gas.components[i];
                auto const mean = [&](auto const& runs) -> std::optional<double> {
                    auto const values = each(runs, [&](auto const& run) {
                        auto const x = amount(run, component);
                        return x ? std::optional(100 * *x) : std::nullopt;
                    });
                    return values.empty() ? std::nullopt : std::optional(metrology::mean(values));
                };
                double const truth = 100 * certified.x[i];
                auto const a = mean(before), b = mean(after);
                auto const less = [&](std::optional<double> value) {
                    return value ? Cell{fmt::format("{:+.4f}", *value - truth), {}, false}
                                 : Cell{"-", {}, false};
                };
                proof.rows.push_back({{std::string(gas::name(component)), {}, false},
                                      number(truth, 4),
                                      quantity_cell(a, 4),
                                      less(a),
                                      quantity_cell(b, 4),
                                      less(b)});
            }
        }
    }
    out.emplace_back(std::move(proof));
    return out;
}

Blocks settling_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Settling", 1});
    auto const* evidence = facts.of_role("settling_series");
    auto const bytes = facts.bytes(evidence);
    if (!bytes) {
        out.emplace_back(soft("No series of the warm-up was handed in."));
        return out;
    }
    auto const series = trace::read_series(*bytes, evidence->file);
    if (!series) {
        out.emplace_back(soft(one_line(series.error())));
        return out;
    }
    auto const settled = visit::settle(*series, std::nullopt);
    Table table;
    table.columns = {{"Quantity", 1.6, Align::left},
                     {"Change still to come", 1.4, Align::right},
                     {"Limit", 1, Align::right},
                     {"Time constant, min", 1.2, Align::right},
                     {"At rest", 1, Align::left}};
    for (auto const& quantity : settled.quantities) {
        auto const& a = quantity.approach;
        table.rows.push_back(
            {{quantity.name, {}, false},
             {a.remaining_change ? fmt::format("{:+.3g}", *a.remaining_change) : "not known",
              {},
              false},
             {quantity.limit ? shortest(*quantity.limit) : "told only", {}, false},
             {a.time_constant ? fixed(*a.time_constant / 60, 1) : "-", {}, false},
             {"",
              !quantity.limit ? metrology::Verdict::no_limit
              : a.settled     ? metrology::Verdict::meets
                              : metrology::Verdict::not_yet,
              false}});
    }
    out.emplace_back(Paragraph{fmt::format(
        "{}, {} readings, handed in by {}, {}. {}",
        evidence->file,
        series->t.size(),
        evidence->by,
        short_time(evidence->at),
        settled.settled ? "Every judged quantity has come to rest: the change that the fit "
                          "still expects is below its limit."
                        : "NOT at rest when the series ends.")});
    out.emplace_back(std::move(table));
    report::Pictures pictures;
    for (auto const& column : series->columns) {
        if (column.y.size() < 2) continue;
        report::Picture picture;
        picture.title = column.name;
        picture.height = 110;
        picture.description = fmt::format(
            "{} over time, from {:.4g} to {:.4g}", column.name, column.y.front(), column.y.back());
        picture.draw = [t = column.t, y = column.y](report::Canvas& canvas, report::Box box) {
            report::draw_line(canvas, box, t, y, "min from the start");
        };
        pictures.each.push_back(std::move(picture));
        if (pictures.each.size() == 2) {
            out.emplace_back(std::move(pictures));
            pictures = {};
        }
    }
    if (!pictures.each.empty()) out.emplace_back(std::move(pictures));
    for (auto const& warning : settled.warnings) out.emplace_back(soft(warning));
    return out;
}

Blocks leak_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Leak test", 1});
    auto const* evidence = facts.of_role("leak_test");
    auto const* finding = facts.finding("leak_rate", "as_left");
    if (evidence == nullptr) {
        out.emplace_back(soft("No leak test was recorded."));
        return out;
    }
    out.emplace_back(Paragraph{fmt::format(
        "{}, {}, by {}{}. {}",
        told(*evidence),
        short_time(evidence->at),
        evidence->by,
        finding == nullptr ? "" : "; limit " + metrology::limit_text(*finding),
        finding == nullptr ? "" : "Source of the limit: " + finding->limit_source + ".")});
    auto const bytes = facts.bytes(evidence);
    if (!bytes) {
        out.emplace_back(
            soft("The rate alone was recorded, without the readings it was made from."));
        return out;
    }
    auto const document = parse_json(*bytes, evidence->file);
    auto const& kind = *bench::find_sum("leak");
    auto const no_gas = [](std::string const&, std::string const& where) {
        return Result<gas::Composition>(fail(Errc::bad_input, "A leak test needs no gas.", where));
    };
    if (!document) return out;
    auto const inputs = bench::read_sum_inputs(kind, document->root(), {}, no_gas);
    if (!inputs) return out;
    auto const sum = bench::worked(kind, *inputs);
    auto const json =
        sum ? bench::sum_json(kind, *inputs, *sum, {}) : Result<Json>(pass_on(sum.error()));
    if (!json) {
        out.emplace_back(soft(one_line(json.error())));
        return out;
    }
    Table table;
    table.columns = {{"Quantity", 2.4, Align::left},
                     {"Value", 1, Align::right},
                     {"Standard uncertainty", 1, Align::right},
                     {"Unit", 0.8, Align::left}};
    auto const cell = [](Json const& value) {
        return Cell{value.is_number()   ? fmt::format("{:.6g}", value.get<double>())
                    : value.is_string() ? value.get<std::string>()
                                        : "-",
                    {},
                    false};
    };
    auto const rows = [&](Json const& group, char const* prefix) {
        for (auto const& [key, item] : group.items()) {
            if (!item.is_object() || !item.contains("value")) continue;
            std::string title = key;
            for (auto const& field : kind.fields)
                if (field.key == key) title = std::string(field.help);
            if (sum)
                for (auto const& result : sum->results)
                    if (result.key == key) title = result.title;
            table.rows.push_back({{prefix + title, {}, false},
                                  cell(item["value"]),
                                  item.contains("u") ? cell(item["u"]) : Cell{"-", {}, false},
                                  cell(item.value("unit", Json("")))});
        }
    };
    rows(json->value("inputs", Json::object()), "Read: ");
    rows(json->value("results", Json::object()), "Worked out: ");
    out.emplace_back(std::move(table));
    out.emplace_back(soft(fmt::format("Formula: {}. Source: {}.", kind.formula, kind.source)));
    return out;
}

std::string misstatement_sentence(HandoverFacts const& facts) {
    auto const* bias = facts.finding("cv_bias", "as_found");
    if (bias == nullptr || !bias->value || !facts.analyser.is_object()) return "";
    double const energy = facts.analyser.value("energy_mwh_per_day", 0.0);
    if (!(energy > 0)) return "";
    double const share = *bias->value / 100;
    double const daily = energy * (1 / (1 + share) - 1);  // E (CV_true / CV_as_found - 1)
    double const u = bias->u ? energy * *bias->u / 100 / ((1 + share) * (1 + share)) : 0;
    auto out = fmt::format("At {} MWh a day the error as found {} about {} MWh a day",
                           fixed(energy, 0),
                           daily > 0 ? "leaves out" : "adds",
                           fixed(std::abs(daily), 0));
    if (u > 0) out += fmt::format(" (\u00B1 {}, k = 2)", fixed(2 * u, 0));
    auto const last = facts.analyser.value("last_good_proof", std::string());
    auto const day = parse_date(last, "last_good_proof");
    auto const at = parse_instant(facts.state().opened, "opened");
    if (day && at)
        out += fmt::format("; the last good proof was on {}, {} days before",
                           last,
                           days_between(*day, date_of(*at)));
    return out + ".";
}

Blocks substitute_section(HandoverFacts const& facts) {
    Blocks out;
    out.emplace_back(Heading{"Substitute period and misstatement", 1});
    auto const *on = facts.of_step("fallback in force"), *off = facts.of_step("fallback off");
    Table table;
    table.columns = {{"", 1, Align::left}, {"", 3, Align::left}};
    auto const row = [&](std::string title, std::string text) {
        table.rows.push_back({{std::move(title), {}, true}, {std::move(text), {}, false}});
    };
    row("Substitute values in force from",
        on == nullptr ? "not recorded"
                      : fmt::format("{}: {} ({})", short_time(on->at), told(*on), on->by));
    row("Live values again from",
        off == nullptr ? "not recorded"
                       : fmt::format("{}: {} ({})", short_time(off->at), told(*off), off->by));
    if (on != nullptr && off != nullptr) {
        auto const a = parse_instant(on->at, "at"), b = parse_instant(off->at, "at");
        if (a && b)
            row("Length", fmt::format("{} min", (b->milliseconds - a->milliseconds) / 60000));
    }
    if (!facts.state().until.empty())
        row("Left on fallback until", facts.state().until + ", owned by " + facts.state().owner);
    auto const sentence = misstatement_sentence(facts);
    row("Misstatement as found",
        sentence.empty() ? "not worked out: the error on a proving gas as found, or the analyser's "
                           "energy a day, is not known"
                         : sentence);
    out.emplace_back(std::move(table));
    if (!sentence.empty())
        out.emplace_back(
            soft("Worked out from the calorific value's error on the proving gas as found, as if "
                 "it held "
                 "for line gas alike. Since when it stood so, these data do not say: between the "
                 "last good "
                 "proof and this visit."));
    return out;
}

}  // namespace gw::desk
