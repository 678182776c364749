// What the visit rests on: gases and certificates, settling, leak test, substitute period and
// energy.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/base.hpp"
#include "bench/sum.hpp"
#include "desk/handover_cells.hpp"
#include "desk/load.hpp"
#include "report/handover_figures.hpp"

namespace gw::desk {

namespace {

using report::Align;
using report::Cell;
using report::Heading;
using report::Paragraph;
using report::Table;

Cell number(double value, int decimals) { return plain(fixed(value, decimals)); }
Cell quantity_cell(std::optional<double> value, int decimals) {
    return {value ? fixed(*value, decimals) : "-", {}, false};
}

}  // namespace

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
                    return value ? Cell{signed_fixed(*value - truth, 4), {}, false}
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
    auto const series = series_of(*bytes, evidence->file);
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
    if (!sum) {
        out.emplace_back(soft(one_line(sum.error())));
        return out;
    }
    Table table;
    table.columns = {{"Quantity", 2.6, Align::left}, {"Value", 1.4, Align::left}};
    for (auto const& field : kind.fields)
        if (auto const found = inputs->values.find(field.key); found != inputs->values.end())
            table.rows.push_back({{fmt::format("Read: {}", field.help), {}, false},
                                  {found->second.text, {}, false}});
    auto const json = bench::sum_json(kind, *inputs, *sum, {});
    if (json) {
        auto const results = json->value("results", Json::object());
        for (auto const& [key, item] : results.items()) {
            double const value = item.value("value", 0.0), u = item.value("u", 0.0);
            table.rows.push_back(
                {{"Worked out: " + item.value("title", key), {}, false},
                 {fmt::format("{:.3g}{} {}",
                              value,
                              u > 0 ? fmt::format(" (u {:.2g})", u) : std::string(),
                              item.value("unit", std::string())),
                  {},
                  false}});
        }
    }
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
