#include "desk/replay.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "app/reference_options.hpp"

namespace gw::app {

namespace {

struct ReplayArgs {
    desk::ReplayRequest request;
    ReferenceArgs reference;
    bool json = false;
};

std::string clock_of(double seconds) {
    auto const s = std::lround(seconds);
    return s < 3600 ? fmt::format("{}:{:02}", s / 60, s % 60)
                    : fmt::format("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
}

// On a terminal one line that is written over twice a second; elsewhere a line every ten seconds.
std::function<void(desk::ReplayProgress const&)> progress_line() {
    bool const terminal = ::isatty(STDERR_FILENO) != 0;
    return [terminal, last = 0.0](desk::ReplayProgress const& p) mutable {
        bool const end = p.done == p.total;
        if (p.elapsed_s - last < (terminal ? 0.5 : 10) && !(end && terminal)) return;
        last = p.elapsed_s;
        double const left = static_cast<double>(p.total - p.done) / std::max(p.rate, 1e-9);
        fmt::print(stderr,
                   "{}{} of {} runs, {:.0f} a second, {} left{}",
                   terminal ? "\r" : "",
                   p.done,
                   p.total,
                   p.rate,
                   clock_of(left),
                   terminal && !end ? "   " : "\n");
        std::fflush(stderr);
    };
}

Result<Answer> run(ReplayArgs& args) {
    GW_TRY(args.request.assay.reference, reference_of(args.reference));
    args.request.progress = progress_line();
    GW_TRY(auto const done, desk::replay(args.request));
    return Answer{desk::replay_json(done), desk::replay_text(done), done.warnings};
}

}  // namespace

void add_assay_replay(CLI::App& assay, Context& context) {
    auto args = std::make_shared<ReplayArgs>();
    auto& request = args->request;
    auto* command = assay.add_subcommand(
        "replay", "Compositions and calorific values of very many runs, into a table");
    command->footer(
        "Example:  gaswright assay replay year.gwa --method method.json --calibration "
        "calibration.json -o year.csv");
    command
        ->add_option("RUNS",
                     request.runs,
                     "Folder of runs, text file with a path a line, or archive of trace pack")
        ->required();
    command->add_option("--method", request.assay.method, "Method file")->required();
    command->add_option("--calibration", request.assay.calibration, "Calibration file")->required();
    command->add_option("-o,--output", request.output, "Table to write, CSV")->required();
    command->add_option("--threads", request.threads, "Threads; 0: all cores")
        ->check(count())
        ->capture_default_str();
    command->add_flag("--careful",
                      request.every_run_careful,
                      "Search every run from nothing, instead of following from run to run");
    command->add_option("--characterisation",
                        request.assay.characterisation,
                        "File whose \"characterisation\" splits C6+, instead of the method's");
    command
        ->add_option(
            "--rate", request.assay.rate_hz, "Samples a second, for traces without a time column")
        ->check(above_zero());
    add_reference_options(*command, args->reference);
    command->add_flag("--json", args->json, "A summary as structured data");
    command->callback([args, &context] { context.finish(run(*args), args->json); });
}

}  // namespace gw::app
