#include "desk/assay.hpp"

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"
#include "app/reference_options.hpp"
#include "base/file.hpp"
#include "desk/evaluate.hpp"

namespace gw::app {

namespace {

struct CalibrateArgs {
    desk::CalibrateRequest request;
    std::string output;
    bool json = false;
};

Result<Answer> calibrate(CalibrateArgs const& args) {
    GW_TRY(auto const calibration, desk::calibrate(args.request));
    Answer answer{assay::calibration_json(calibration),
                  desk::calibration_text(calibration),
                  calibration.warnings};
    if (!args.output.empty()) {
        GW_CHECK(write_file(args.output, to_text(answer.json)));
    }
    return answer;
}

void add_calibrate(CLI::App& assay, Context& context) {
    auto args = std::make_shared<CalibrateArgs>();
    auto* command = assay.add_subcommand(
        "calibrate", "Response factors with uncertainty from runs on a certified gas");
    command->footer(
        "Example:  gaswright assay calibrate cal1.csv cal2.csv cal3.csv --method method.json "
        "--cylinder cylinder.json -o calibration.json");
    command
        ->add_option(
            "RUN", args->request.runs, "Runs on the calibration gas: traces or reports with areas")
        ->required();
    command->add_option("--method", args->request.method, "Method file")->required();
    command
        ->add_option("--cylinder", args->request.cylinder, "Cylinder file of the calibration gas")
        ->required();
    command->add_option("--discard", args->request.discard, "Leave out the first N runs")
        ->check(count())
        ->capture_default_str();
    command
        ->add_option(
            "--rate", args->request.rate_hz, "Samples a second, for traces without a time column")
        ->check(above_zero());
    command->add_option("-o,--output", args->output, "Write the calibration file here");
    command->add_flag("--json", args->json, "The calibration file on standard output");
    command->callback([args, &context] { context.finish(calibrate(*args), args->json); });
}

struct RunArgs {
    desk::AssayRequest request;
    ReferenceArgs reference;
    bool json = false;
};

Result<Answer> run(RunArgs& args) {
    GW_TRY(args.request.reference, reference_of(args.reference));
    GW_TRY(auto const assayed, desk::assay_run(args.request));
    return Answer{
        desk::assayed_run_json(assayed), desk::assayed_run_text(assayed), assayed.warnings};
}

void add_run(CLI::App& assay, Context& context) {
    auto args = std::make_shared<RunArgs>();
    auto* command =
        assay.add_subcommand("run", "Composition and calorific value of one run, with uncertainty");
    command->footer(
        "Example:  gaswright assay run line.csv --method method.json --calibration "
        "calibration.json");
    command
        ->add_option("RUN", args->request.run, "Trace, or report with areas; - for standard input")
        ->required();
    command->add_option("--method", args->request.method, "Method file")->required();
    command->add_option("--calibration", args->request.calibration, "Calibration file")->required();
    command->add_option("--characterisation",
                        args->request.characterisation,
                        "File whose \"characterisation\" splits C6+, instead of the method's");
    command->add_option(
        "--before", args->request.before, "The run before this one: what is carried over from it");
    command->add_option("--after",
                        args->request.after,
                        "The run after it on the same gas: how much old gas was still in this one");
    command->add_option(
        "--monte-carlo",
        args->request.monte_carlo_seed,
        "Seed: the calorific value also by Monte Carlo (JCGM 101), beside first order");
    command
        ->add_option(
            "--rate", args->request.rate_hz, "Samples a second, for a trace without a time column")
        ->check(above_zero());
    add_reference_options(*command, args->reference);
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(run(*args), args->json); });
}

struct EvaluateArgs {
    desk::EvaluateRequest request;
    bool json = false;
};

Result<Answer> evaluate(EvaluateArgs const& args) {
    GW_TRY(auto const out, desk::evaluate(args.request));
    auto const verdict = assay::performance_verdict(out.spec, out.performance);
    Answer answer{assay::performance_json(out.spec, out.performance),
                  assay::performance_text(out.spec, out.performance),
                  out.performance.warnings,
                  verdict == metrology::Verdict::meets || verdict == metrology::Verdict::no_limit};
    if (out.drawn) {
        answer.json["output"] = *out.drawn;
        answer.text += *out.drawn + " drawn\n";
    }
    return answer;
}

void add_evaluate(CLI::App& assay, Context& context) {
    auto args = std::make_shared<EvaluateArgs>();
    auto* command = assay.add_subcommand(
        "evaluate",
        "Performance evaluation (ISO 10723): true responses from reference gases, errors over a "
        "whole range, best calibration gas");
    command->footer("Example:  gaswright assay evaluate evaluation.json -o map.svg");
    command->add_option("SPEC", args->request.spec, "Evaluation file, - for standard input")
        ->required();
    command->add_option("-o,--output",
                        args->request.output,
                        "Map of the error of the calorific value: .svg, .png or .pdf");
    command
        ->add_option("--map",
                     args->request.axes,
                     "Component of an axis of the map; give it twice (default: the two of the "
                     "widest range beside the most plentiful)")
        ->expected(1)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback([args, &context] { context.finish(evaluate(*args), args->json); });
}

}  // namespace

void add_assay(CLI::App& program, Context& context) {
    auto* assay = program.add_subcommand("assay", "Factors and compositions from runs");
    assay->require_subcommand(1);
    assay->footer(
        "Example:  gaswright assay run line.csv --method method.json --calibration "
        "calibration.json");
    add_calibrate(*assay, context);
    add_run(*assay, context);
    add_assay_replay(*assay, context);
    add_evaluate(*assay, context);
}

}  // namespace gw::app
