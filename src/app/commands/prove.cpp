#include "desk/prove.hpp"

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"

namespace gw::app {

namespace {

struct ProveArgs {
    std::string proof, on;
    bool json = false;
};

Result<Answer> prove(ProveArgs const& args, Date today) {
    Date on = today;
    if (!args.on.empty()) {
        GW_TRY(on, parse_date(args.on, "--on"));
    }
    GW_TRY(auto const proof, desk::prove(args.proof, on));
    return Answer{visit::proof_json(proof),
                  visit::proof_text(proof),
                  proof.warnings,
                  proof.verdict == metrology::Verdict::meets};
}

}  // namespace

void add_prove(CLI::App& program, Context& context) {
    auto args = std::make_shared<ProveArgs>();
    auto* command =
        program.add_subcommand("prove",
                               "Does the analyser read right on a gas it was not calibrated with? "
                               "Findings against limits, and the verdict");
    command->footer("Example:  gaswright prove proof.json --on 2026-03-02");
    command->add_option("PROOF", args->proof, "Proof file: criteria, cylinders and runs")
        ->required();
    command->add_option("--on", args->on, "Day of the proof (default: today)");
    command->add_flag("--json", args->json, "The same findings as structured data");
    command->callback(
        [args, &context] { context.finish(prove(*args, context.today()), args->json); });
}

}  // namespace gw::app
