#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "desk/trace_peaks.hpp"

namespace gw::app {

namespace {

struct PeaksArgs {
    desk::TracePeaksRequest request;
    bool json = false;
};

Result<Answer> peaks(PeaksArgs const& args) {
    GW_TRY(auto const found, desk::trace_peaks(args.request));
    return Answer{desk::trace_peaks_json(found), desk::trace_peaks_text(found), found.run.warnings};
}

}  // namespace

void add_trace(CLI::App& program, Context& context) {
    auto* trace =
        program.add_subcommand("trace", "Detector traces: their peaks, baseline and noise");
    trace->require_subcommand(1);
    trace->footer("Example:  gaswright trace peaks run.csv --method method.json");
    auto args = std::make_shared<PeaksArgs>();
    auto* command = trace->add_subcommand(
        "peaks",
        "Find and measure the peaks of a trace; name them when a method says where they stand");
    command->footer("Example:  gaswright trace peaks run.csv --method method.json --json");
    command->add_option("TRACE", args->request.trace, "Trace file, - for standard input")
        ->required();
    command->add_option(
        "--method", args->request.method, "Method file: names, valve events, detector range");
    command
        ->add_option(
            "--rate", args->request.rate_hz, "Samples a second, for a file without a time column")
        ->check(above_zero());
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(peaks(*args), args->json); });
}

}  // namespace gw::app
