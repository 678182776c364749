#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "desk/bench_sum.hpp"
#include "desk/misstatement.hpp"

namespace gw::app {

namespace {

struct MisstatementArgs {
    desk::MisstatementRequest request;
    bool json = false;
};

Result<Answer> misstatement(MisstatementArgs const& args) {
    GW_TRY(auto const out, desk::misstatement(args.request));
    return Answer{desk::misstatement_json(out), desk::misstatement_text(out), out.result.warnings};
}

void add_misstatement(CLI::App& bench, Context& context) {
    auto args = std::make_shared<MisstatementArgs>();
    auto& r = args->request;
    auto* command = bench.add_subcommand(
        "misstatement",
        "What a wrong calorific value has cost between its onset and its finding.\n"
        "Formula: sum of V Hv e / (1 + e), e = indicated / true - 1. Onset known, from a change "
        "point with its interval, or by the half-period rule of supply contracts with its cap "
        "(common practice, no source).");
    command->footer(
        "Example:  gaswright bench misstatement volumes.csv --error -0.35 --error-u 0.05 "
        "--last-good 2026-01-15T09:00:00Z --cap-days 16 --found 2026-03-02T09:00:00Z\n"
        "      or: gaswright bench misstatement --flow 1200000 --cv 39.5 --error -0.35 "
        "--last-good 0 --found 46 --cap-days 16     (bare numbers are days)");
    command->add_option(
        "VOLUMES", r.volumes, "CSV: time or time_s, volume_m3, cv (MJ/m3); - for standard input");
    command->add_option("--flow", r.flow_m3_per_day, "Steady flow instead of a file, m3 a day");
    command->add_option("--cv", r.cv_mj_m3, "Indicated calorific value where the file has none");
    command->add_option("--error", r.error_percent, "As found, indicated less true, %")->required();
    command->add_option("--error-u", r.error_u_percent, "Its standard uncertainty, %")
        ->check(CLI::NonNegativeNumber);
    command->add_option("--volume-u", r.volume_u_percent, "Standard uncertainty of the volumes, %")
        ->check(CLI::NonNegativeNumber);
    command->add_option("--onset", r.onset, "When the error began, where that is known");
    command->add_option("--onset-from", r.onset_from, "Early end of its 95 % interval");
    command->add_option("--onset-to", r.onset_to, "Late end of it");
    command->add_option("--last-good", r.last_good, "Last good check: the half-period rule");
    command->add_option("--cap-days", r.cap_days, "Most days the half-period rule goes back");
    command->add_option("--found", r.found, "When the error was found and ended")->required();
    command->add_flag("--ramp", r.ramp, "The error grew evenly from nothing");
    command->add_option("--cause", r.causes, "Part of the error: \"name=percent:u\"; may repeat");
    command->add_option("--price", r.price_per_mwh, "Price of energy, per MWh");
    command->add_option("--currency", r.currency, "Name of the money");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(misstatement(*args), args->json); });
}

struct SumArgs {
    desk::BenchRequest request;
    std::vector<std::optional<std::string>> written;  // in the order of the sum's fields
    bool json = false;
};

Result<Answer> sum(bench::SumKind const& kind, SumArgs const& args) {
    auto request = args.request;
    for (std::size_t i = 0; i < args.written.size(); ++i)
        if (args.written[i])
            request.options.emplace_back(std::string(kind.fields[i].key), *args.written[i]);
    GW_TRY(auto const out, desk::bench_sum(request));
    return Answer{out.json, out.text, out.warnings, out.favourable};
}

void add_sum(CLI::App& bench, Context& context, bench::SumKind const& kind) {
    auto args = std::make_shared<SumArgs>();
    args->request.sum = std::string(kind.name);
    args->written.resize(kind.fields.size());
    auto* command = bench.add_subcommand(
        std::string(kind.name),
        fmt::format("{}\nFormula: {}.\nSource: {}.", kind.title, kind.formula, kind.source));
    command->footer(fmt::format(
        "A quantity is a number, its standard uncertainty and its unit: \"50 +- 0.5 mL\".\n{}{}"
        "Example:  {}",
        kind.caution,
        kind.caution.empty() ? "" : "\n",
        kind.example));
    command->add_option("FILE",
                        args->request.file,
                        "The same inputs as JSON, - for standard input; options go first");
    for (std::size_t i = 0; i < kind.fields.size(); ++i) {
        auto const& field = kind.fields[i];
        if (field.form == bench::SumField::Form::list) continue;
        auto option = fmt::format("--{}", field.key);
        std::replace(option.begin(), option.end(), '_', '-');
        command->add_option(option,
                            args->written[i],
                            field.form == bench::SumField::Form::gas || field.unit == "1"
                                ? std::string(field.help)
                                : fmt::format("{} [{}]", field.help, field.unit));
    }
    command->add_option("--show", args->request.show, "Unit of a result: KEY=UNIT; may repeat")
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context, &kind] { context.finish(sum(kind, *args), args->json); });
}

}  // namespace

void add_bench(CLI::App& program, Context& context) {
    auto* command = program.add_subcommand("bench", "Sums of the workshop and the office");
    command->require_subcommand(1);
    command->footer(
        "Example:  gaswright bench misstatement --flow 1200000 --cv 39.5 --error -0.35 "
        "--last-good 0 --found 46 --cap-days 16");
    for (auto const& kind : bench::sum_kinds()) add_sum(*command, context, kind);
    add_misstatement(*command, context);
}

}  // namespace gw::app
