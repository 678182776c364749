#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "desk/trace_convert.hpp"
#include "desk/trace_draw.hpp"
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

struct DrawArgs {
    desk::TraceDrawRequest request;
    bool json = false;
};

Result<Answer> draw(DrawArgs const& args) {
    GW_TRY(auto const drawn, desk::trace_draw(args.request));
    return Answer{desk::trace_draw_json(drawn), desk::trace_draw_text(drawn), drawn.warnings};
}

struct ConvertArgs {
    desk::TraceConvertRequest request;
    bool json = false;
};

Result<Answer> convert(ConvertArgs const& args) {
    GW_TRY(auto const done, desk::trace_convert(args.request));
    return Answer{desk::trace_convert_json(done), desk::trace_convert_text(done), done.warnings};
}

void add_convert(CLI::App& trace, Context& context) {
    auto args = std::make_shared<ConvertArgs>();
    auto& request = args->request;
    auto* command = trace.add_subcommand("convert",
                                         "Write a trace as text (.csv) or in the netCDF "
                                         "interchange layout of ASTM E1947 (.cdf, .nc)");
    command->footer("Example:  gaswright trace convert export.txt -o run.cdf");
    command->add_option("TRACE", request.trace, "Trace file, - for standard input")->required();
    command->add_option("-o,--output", request.output, "File to write: .csv, .cdf or .nc")
        ->required();
    command->add_option("--detector", request.detector, "Only this detector, from 1");
    command
        ->add_option(
            "--rate", request.rate_hz, "Samples a second, for a file without a time column")
        ->check(above_zero());
    command->add_flag("--json", args->json, "What was written, as structured data");
    command->callback([args, &context] { context.finish(convert(*args), args->json); });
}

void add_draw(CLI::App& trace, Context& context) {
    auto args = std::make_shared<DrawArgs>();
    auto& request = args->request;
    auto* command = trace.add_subcommand(
        "draw", "Draw a trace with its peaks and baseline as SVG, PNG or PDF (by the suffix)");
    command->footer("Example:  gaswright trace draw run.csv --method method.json -o run.svg");
    command->add_option("TRACE", request.trace, "Trace file, - for standard input")->required();
    command->add_option(
        "--method", request.method, "Method file: names, valve events, detector range");
    command
        ->add_option(
            "--rate", request.rate_hz, "Samples a second, for a file without a time column")
        ->check(CLI::PositiveNumber);
    command->add_option("--from", request.from_s, "Where the figure begins, s");
    command->add_option("--to", request.to_s, "Where it ends, s");
    command->add_option("--detector", request.detector, "Only this detector, from 1");
    command->add_option("-o,--output", request.output, "File to write: .svg, .png or .pdf")
        ->required();
    command->add_option("--width-mm", request.width_mm, "Width, mm")->capture_default_str();
    command->add_option(
        "--height-mm", request.height_mm, "Height, mm; by the number of detectors when absent");
    command->add_flag("--json", args->json, "What was written, as structured data");
    command->callback([args, &context] { context.finish(draw(*args), args->json); });
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
    add_convert(*trace, context);
    add_draw(*trace, context);
    add_trace_pack(*trace, context);
}

}  // namespace gw::app
