#include "desk/chart.hpp"

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"

namespace gw::app {

namespace {

struct ChartArgs {
    desk::ChartRequest request;
    bool json = false;
};

Result<Answer> chart(ChartArgs const& args) {
    GW_TRY(auto const out, desk::chart(args.request));
    std::vector<std::string> warnings;
    for (auto const& s : out.series)
        warnings.insert(warnings.end(), s.charts.warnings.begin(), s.charts.warnings.end());
    return Answer{desk::chart_json(out, args.request), desk::chart_text(out), warnings};
}

}  // namespace

void add_chart(CLI::App& program, Context& context) {
    auto args = std::make_shared<ChartArgs>();
    auto& r = args->request;
    auto* command = program.add_subcommand(
        "chart",
        "Control charts of readings over the life of an analyser: individuals, EWMA, CUSUM, and "
        "when a drift began");
    command->footer(
        "Example:  gaswright chart factors.csv --ratios --run-length 1000 -o factors.svg");
    command
        ->add_option("SERIES",
                     r.series,
                     "CSV with time or time_s and columns of readings; a column break, event or "
                     "note restarts the charts where it is not empty; - for standard input")
        ->required();
    command->add_option("--column", r.options.columns, "Only this column; may repeat");
    command->add_option("--break", r.breaks, "Time of an exchange or repair; may repeat");
    command
        ->add_option("--false-alarm-days",
                     r.options.false_alarm_days,
                     "Days between false alarms of all charts together")
        ->capture_default_str();
    command->add_option("--run-length",
                        r.options.run_length,
                        "Readings between false alarms of one chart, instead of days");
    command->add_option("--lambda", r.options.lambda, "Weight of the EWMA")->capture_default_str();
    command->add_option("--k", r.options.k, "Allowance of the CUSUM, sigma")->capture_default_str();
    command
        ->add_option("--reference", r.options.learning, "First readings that are only learned from")
        ->check(CLI::Range(6, 100000))
        ->capture_default_str();
    command->add_option("--passport",
                        r.passport,
                        "JSON file: mean and sd that the module is known to have, by column");
    command->add_flag("--ratios", r.options.ratios, "Chart factors over that of methane");
    command
        ->add_option("--reference-kpa",
                     r.options.reference_kpa,
                     "Pressure of the air that the total is brought to (default: the first)")
        ->check(CLI::Range(50.0, 120.0));
    command->add_option("-o,--output", r.output, "Draw them: .svg, .png or .pdf");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(chart(*args), args->json); });
}

}  // namespace gw::app
