#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "desk/cylinder_check.hpp"

namespace gw::app {

namespace {

struct CheckArgs {
    std::string cylinder, on, criteria = "custody";
    std::optional<double> ambient_c;
    bool json = false;
};

Result<Answer> check(CheckArgs const& args, Date today) {
    desk::CylinderCheckRequest request{args.cylinder, args.criteria, today, std::nullopt};
    if (!args.on.empty()) {
        GW_TRY(request.on, parse_date(args.on, "--on"));
    }
    if (args.ambient_c) {
        if (!(*args.ambient_c >= -100 && *args.ambient_c <= 100))
            return fail(Errc::bad_input,
                        fmt::format("{} degC is no ambient temperature.", *args.ambient_c),
                        "--ambient-c",
                        "give degrees Celsius");
        request.ambient = celsius(*args.ambient_c);
    }
    GW_TRY(auto const report, desk::check_cylinder(request));
    Answer answer;
    answer.json = metrology::findings_json(report.check.findings);
    answer.json["warnings"] = report.check.warnings;
    answer.text = fmt::format("{}\n\n{}\nVerdict: {}\n",
                              report.heading,
                              findings_table(report.check.findings),
                              name(report.check.verdict));
    answer.warnings = report.check.warnings;
    answer.favourable = report.check.verdict == metrology::Verdict::meets;
    return answer;
}

}  // namespace

void add_cylinder(CLI::App& program, Context& context) {
    auto* cylinder = program.add_subcommand("cylinder", "Cylinders of calibration and proving gas");
    cylinder->require_subcommand(1);
    cylinder->footer("Example:  gaswright cylinder check cylinder.json --ambient-c 4");
    auto args = std::make_shared<CheckArgs>();
    auto* command = cylinder->add_subcommand(
        "check",
        "Is the certificate sound, the cylinder fit for use, and good enough "
        "to decide the calorific value limit?");
    command->footer("Example:  gaswright cylinder check cylinder.json --ambient-c 4 --for custody");
    command->add_option("cylinder", args->cylinder, "Cylinder file, or - for standard input")
        ->required();
    command->add_option(
        "--ambient-c", args->ambient_c, "Temperature where the cylinder stands, degC");
    command->add_option("--on", args->on, "Day of use, for example 2026-03-02 (default: today)");
    command->add_option("--for", args->criteria, "Criteria: custody, us-federal, oiml-a, or a file")
        ->capture_default_str();
    command->add_flag("--json", args->json, "The same findings as structured data");
    command->callback(
        [args, &context] { context.finish(check(*args, context.today()), args->json); });
    add_cylinder_record(*cylinder, context);
}

}  // namespace gw::app
