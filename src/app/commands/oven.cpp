#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "desk/oven_simulate.hpp"

namespace gw::app {

namespace {

struct SimulateArgs {
    desk::OvenSimulateRequest request;
    bool json = false;
};

Result<Answer> simulate(SimulateArgs const& args) {
    GW_TRY(auto const done, desk::oven_simulate(args.request));
    return Answer{
        desk::oven_simulation_json(done), desk::oven_simulation_text(done), done.warnings};
}

void add_simulate(CLI::App& oven, Context& context) {
    auto args = std::make_shared<SimulateArgs>();
    auto& request = args->request;
    auto* command = oven.add_subcommand("simulate", "One run of the twin with a gas, as a trace");
    std::string faults;
    for (auto const& fault : oven::faults())
        faults += "\n  " + std::string(fault.id) + ": " + std::string(fault.title) + " (" +
                  std::string(fault.severity) + ")";
    command->footer(
        "Example:  gaswright oven simulate method.json --gas gas.json --event-shift \"reverse "
        "A=+0.5\" -o run.csv\nFaults:" +
        faults);
    command->add_option("METHOD", request.method, "Method file with an oven block")->required();
    command->add_option("--gas", request.gas, "Composition file")->required();
    command->add_option("--seed", request.seed, "Seed of the noise")->capture_default_str();
    command
        ->add_option("--noise",
                     request.noise_mv,
                     "Standard deviation of white noise; with it the method's drift and kicks")
        ->check(CLI::NonNegativeNumber);
    command->add_option("--event-shift",
                        request.shifts,
                        "\"ACTION=+0.5\": this event later by so many seconds; may be repeated")
        ->allow_extra_args(false);
    command->add_option("--fault",
                        request.faults,
                        "NAME=SEVERITY, names below; may be repeated")
        ->allow_extra_args(false);
    command->add_option("-o,--output", request.output, "Trace file to write")->required();
    command->add_flag("--json", args->json, "Peaks and mass balance as structured data");
    command->callback([args, &context] { context.finish(simulate(*args), args->json); });
}

}  // namespace

void add_oven(CLI::App& program, Context& context) {
    auto* oven = program.add_subcommand(
        "oven", "The twin of an oven module: simulate it, time its valves, draw its bands");
    oven->require_subcommand(1);
    oven->footer("Example:  gaswright oven simulate method.json --gas gas.json -o run.csv");
    add_simulate(*oven, context);
}

}  // namespace gw::app
