#include "desk/trace_pack.hpp"

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/checks.hpp"
#include "app/commands.hpp"

namespace gw::app {

namespace {

struct PackArgs {
    desk::PackRequest request;
    bool json = false;
};

Result<Answer> pack(PackArgs const& args) {
    GW_TRY(auto const done, desk::trace_pack(args.request));
    return Answer{desk::packed_json(done), desk::packed_text(done), done.warnings};
}

void add_writer(CLI::App& group, Context& context, bool append) {
    auto args = std::make_shared<PackArgs>();
    auto& request = args->request;
    request.append = append;
    auto* command = append ? group.add_subcommand("append", "Add runs to an archive")
                           : group.add_subcommand("make", "Make an archive of runs");
    command->footer(append ? "Example:  gaswright trace pack append year.gwa today/"
                           : "Example:  gaswright trace pack make year.gwa runs/");
    command->add_option("ARCHIVE", request.archive, "The archive")->required();
    command->add_option("RUN", request.runs, "Traces, and folders of traces")->required();
    command
        ->add_option(
            "--rate", request.rate_hz, "Samples a second, for traces without a time column")
        ->check(above_zero());
    command->add_flag("--json", args->json, "What was packed, as structured data");
    command->callback([args, &context] { context.finish(pack(*args), args->json); });
}

struct QueryArgs {
    desk::ArchiveQuery query;
    std::string from, to, output;
    bool json = false;
};

Result<> settle(QueryArgs& args) {
    if (!args.from.empty()) {
        GW_TRY(args.query.from, parse_instant(args.from, "--from"));
    }
    if (!args.to.empty()) {
        GW_TRY(args.query.to, parse_instant(args.to, "--to"));
    }
    return {};
}

Result<Answer> list(QueryArgs& args) {
    GW_CHECK(settle(args));
    GW_TRY(auto const found, desk::archive_list(args.query));
    return Answer{
        desk::listing_json(found), desk::listing_text(found), found.warnings, found.damaged == 0};
}

Result<Answer> check(QueryArgs& args) {
    GW_CHECK(settle(args));
    GW_TRY(auto const found, desk::archive_check(args.query));
    bool const whole = found.damaged == 0 && found.indexed;
    return Answer{desk::listing_json(found), desk::listing_text(found), found.warnings, whole};
}

Result<Answer> extract(QueryArgs& args) {
    GW_CHECK(settle(args));
    GW_TRY(auto const done, desk::archive_extract(args.query, args.output));
    return Answer{desk::extracted_json(done), desk::extracted_text(done), {}};
}

std::shared_ptr<QueryArgs> query_options(CLI::App& command) {
    auto args = std::make_shared<QueryArgs>();
    command.add_option("ARCHIVE", args->query.archive, "The archive")->required();
    command.add_option("--run", args->query.run, "Only this run, from 1");
    command.add_option("--content",
                       args->query.content,
                       "Only runs from a file of this SHA-256; its first digits will do");
    command.add_option("--from", args->from, "Only runs begun at or after this time (ISO 8601)");
    command.add_option("--to", args->to, "Only runs begun before this time");
    command.add_flag("--json", args->json, "The same answer as structured data");
    return args;
}

}  // namespace

void add_trace_pack(CLI::App& trace, Context& context) {
    auto* group =
        trace.add_subcommand("pack", "Many runs in one compressed file, each checksummed");
    group->require_subcommand(1);
    group->footer("Example:  gaswright trace pack make year.gwa runs/");
    add_writer(*group, context, false);
    add_writer(*group, context, true);

    auto* lists = group->add_subcommand("list", "What an archive holds");
    lists->footer("Example:  gaswright trace pack list year.gwa --from 2026-03-01T00:00Z");
    auto list_args = query_options(*lists);
    lists->callback([list_args, &context] { context.finish(list(*list_args), list_args->json); });

    auto* checks = group->add_subcommand(
        "check",
        "Read every run back and hold it against its checksum; exit 1 when one is damaged");
    checks->footer("Example:  gaswright trace pack check year.gwa");
    auto check_args = query_options(*checks);
    checks->callback(
        [check_args, &context] { context.finish(check(*check_args), check_args->json); });

    auto* extracts = group->add_subcommand("extract", "Runs of an archive as text traces");
    extracts->footer("Example:  gaswright trace pack extract year.gwa --run 17 -o run.csv");
    auto extract_args = query_options(*extracts);
    extracts
        ->add_option(
            "-o,--output", extract_args->output, "File for one run, or a folder that stands")
        ->required();
    extracts->callback(
        [extract_args, &context] { context.finish(extract(*extract_args), extract_args->json); });
}

}  // namespace gw::app
