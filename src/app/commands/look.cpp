#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "desk/prove.hpp"

namespace gw::app {

namespace {

struct LookArgs {
    desk::LookRequest request;
    std::string on;
    bool json = false;
};

Result<Answer> look(LookArgs& args, Date today) {
    args.request.on = today;
    if (!args.on.empty()) {
        GW_TRY(args.request.on, parse_date(args.on, "--on"));
    }
    GW_TRY(auto const answer, desk::look(args.request));
    return Answer{visit::look_json(answer),
                  visit::look_text(answer),
                  answer.warnings,
                  answer.verdict == metrology::Verdict::meets};
}

}  // namespace

void add_look(CLI::App& program, Context& context) {
    auto args = std::make_shared<LookArgs>();
    auto* command = program.add_subcommand(
        "look",
        "First answer from one printed report: factors, sums, total, and up to three suspects");
    command->footer(
        "Example:  gaswright look report.csv --cylinder cylinder.json\nA report is a table typed "
        "or pasted: component, retention, area, mole_percent, factor.");
    command
        ->add_option(
            "REPORT", args->request.report, "Printed report as CSV or JSON, - for standard input")
        ->required();
    command->add_option("--cylinder",
                        args->request.cylinder,
                        "Cylinder file: the certificate of the gas that was run");
    command
        ->add_option(
            "--for", args->request.criteria, "Criteria: custody, us-federal, oiml-a, or a file")
        ->capture_default_str();
    command->add_option("--on", args->on, "Day to judge expiry by (default: today)");
    command->add_flag("--json", args->json, "The same answer as structured data");
    command->callback(
        [args, &context] { context.finish(look(*args, context.today()), args->json); });
}

}  // namespace gw::app
