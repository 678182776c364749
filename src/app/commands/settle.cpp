#include "desk/settle.hpp"

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"

namespace gw::app {

namespace {

struct SettleArgs {
    std::string series;
    std::optional<std::string> limits;
    bool json = false;
};

Result<Answer> settle(SettleArgs const& args) {
    GW_TRY(auto const out, desk::settle(args.series, args.limits));
    return Answer{visit::settlement_json(out.settlement, out.series),
                  visit::settlement_text(out.settlement, out.series),
                  out.settlement.warnings,
                  out.settlement.settled};
}

}  // namespace

void add_settle(CLI::App& program, Context& context) {
    auto args = std::make_shared<SettleArgs>();
    auto* command = program.add_subcommand(
        "settle",
        "Has the analyser come to rest, and if not, when will it? Oven, retention, factors, "
        "baseline and total over time");
    command->footer("Example:  gaswright settle warm_up.csv --limits limits.json");
    command
        ->add_option("SERIES",
                     args->series,
                     "CSV with time or time_s, then any of oven_c, retention:NAME, factor:NAME, "
                     "baseline, total, ambient_kpa; - for standard input")
        ->required();
    command->add_option("--limits",
                        args->limits,
                        "JSON file: largest change still to come that is allowed, by column");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(settle(*args), args->json); });
}

}  // namespace gw::app
