#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "desk/oven_draw.hpp"
#include "desk/oven_retime.hpp"
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
    command
        ->add_option("--event-shift",
                     request.shifts,
                     "\"ACTION=+0.5\": this event later by so many seconds; may be repeated")
        ->allow_extra_args(false);
    command->add_option("--fault", request.faults, "NAME=SEVERITY, names below; may be repeated")
        ->allow_extra_args(false);
    command->add_option("-o,--output", request.output, "Trace file to write")->required();
    command->add_flag("--json", args->json, "Peaks and mass balance as structured data");
    command->callback([args, &context] { context.finish(simulate(*args), args->json); });
}

struct RetimeArgs {
    desk::OvenRetimeRequest request;
    bool json = false;
};

Result<Answer> retime(RetimeArgs const& args) {
    GW_TRY(auto const done, desk::oven_retime(args.request));
    return Answer{desk::oven_retiming_json(done),
                  desk::oven_retiming_text(done),
                  done.warnings,
                  done.clean()};
}

void add_retime(CLI::App& oven, Context& context) {
    auto args = std::make_shared<RetimeArgs>();
    auto& request = args->request;
    auto* command = oven.add_subcommand(
        "retime", "For every valve event the window in which no peak is cut, and a time inside it");
    command->footer(
        "Example:  gaswright oven retime method.json --run run.csv --gas gas.json -o new.json\n"
        "A window ends where a reported peak loses or gains more than 0.1 % of its area (0.5 % "
        "below "
        "0.1 mol%).\nExit code 1 when an event has no clean time.");
    command->add_option("METHOD", request.method, "Method file with an oven block")->required();
    command
        ->add_option("--run",
                     request.runs,
                     "Trace of this method on that gas: the twin is fitted to it first; may be "
                     "repeated")
        ->allow_extra_args(true);
    command->add_option("--gas", request.gas, "Composition file")->required();
    command->add_option(
        "-o,--output", request.output, "Method file to write, with the proposed programme");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(retime(*args), args->json); });
}

struct FitArgs {
    desk::OvenFitRequest request;
    bool json = false;
};

Result<Answer> fit(FitArgs const& args) {
    GW_TRY(auto const done, desk::oven_fit(args.request));
    return Answer{desk::oven_fit_json(done), desk::oven_fit_text(done), done.warnings};
}

void add_fit(CLI::App& oven, Context& context) {
    auto args = std::make_shared<FitArgs>();
    auto& request = args->request;
    auto* command = oven.add_subcommand(
        "fit", "Flow, temperature, plates, retention, responses and event times from real runs");
    command->footer(
        "Example:  gaswright oven fit method.json run.csv --gas gas.json -o fitted.json");
    command->add_option("METHOD", request.method, "Method file with an oven block")->required();
    command->add_option("RUN", request.runs, "One or more traces of one gas")->required();
    command->add_option("--gas", request.gas, "Composition file of that gas");
    command->add_option(
        "-o,--output", request.output, "Method file to write, with the fitted values");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(fit(*args), args->json); });
}

struct OvenDrawArgs {
    desk::OvenDrawRequest request;
    bool json = false;
};

Result<Answer> draw(OvenDrawArgs const& args) {
    GW_TRY(auto const drawn, desk::oven_draw(args.request));
    return Answer{desk::oven_drawing_json(drawn), desk::oven_drawing_text(drawn), drawn.warnings};
}

void add_draw(CLI::App& oven, Context& context) {
    auto args = std::make_shared<OvenDrawArgs>();
    auto& request = args->request;
    auto* command = oven.add_subcommand(
        "draw", "Draw the bands in the columns against time, with valve states and signal");
    command->footer("Example:  gaswright oven draw method.json --gas gas.json -o bands.svg");
    command->add_option("METHOD", request.method, "Method file with an oven block")->required();
    command->add_option("--gas", request.gas, "Composition file; equal amounts when absent");
    command->add_option("--event-shift", request.shifts, "\"ACTION=+0.5\"; may be repeated")
        ->allow_extra_args(false);
    command->add_option("--fault", request.faults, "NAME=SEVERITY; may be repeated")
        ->allow_extra_args(false);
    command->add_option("-o,--output", request.output, "File to write: .svg, .png or .pdf")
        ->required();
    command->add_option("--width-mm", request.width_mm, "Width, mm")->capture_default_str();
    command->add_option(
        "--height-mm", request.height_mm, "Height, mm; by the number of columns when absent");
    command->add_flag("--json", args->json, "What was written, as structured data");
    command->callback([args, &context] { context.finish(draw(*args), args->json); });
}

}  // namespace

void add_oven(CLI::App& program, Context& context) {
    auto* oven = program.add_subcommand(
        "oven", "The twin of an oven module: simulate it, time its valves, draw its bands");
    oven->require_subcommand(1);
    oven->footer("Example:  gaswright oven simulate method.json --gas gas.json -o run.csv");
    add_simulate(*oven, context);
    add_fit(*oven, context);
    add_retime(*oven, context);
    add_draw(*oven, context);
}

}  // namespace gw::app
