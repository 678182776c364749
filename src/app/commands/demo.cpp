#include "desk/demo.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/store_options.hpp"
#include "desk/demo_handover.hpp"
#include "desk/demo_record.hpp"

namespace gw::app {

namespace {

struct DemoArgs : StoreArgs {
    std::string folder, handover, paper = "a4";
    bool record = false;
};

// The invented visit as a record in a store of its own choosing.
Result<Answer> record(DemoArgs const& args, Context const& context) {
    GW_TRY(auto const made, desk::DemoRecord::make());
    GW_TRY(auto const store, opened_store(args, context, true));
    GW_TRY(auto const id, made.record(*store));
    return Answer{Json{{"visit", id}, {"notice", made.notice()}, {"store", store_path(args)}},
                  fmt::format("{}\nThe invented visit {} is recorded in {}. Look at it with:  "
                              "gaswright visit show {}\n",
                              made.notice(),
                              id,
                              store_path(args),
                              id),
                  {},
                  true};
}

Result<Answer> demo(DemoArgs const& args, Context const& context) {
    if (args.record) {
        if (!args.folder.empty() || !args.handover.empty())
            return fail(Errc::bad_input,
                        "The visit is recorded, or its files are written.",
                        "--record",
                        "give --write and --handover in a command of their own");
        return record(args, context);
    }
    if (!args.file.empty())
        return fail(Errc::bad_input,
                    "Without --record nothing is written to a store.",
                    "--store",
                    "add --record, or leave --store out");
    GW_TRY(auto const paper, desk::paper_of(args.paper));
    if (!args.handover.empty()) {
        GW_CHECK(desk::check_handover_file(args.handover));
    }
    GW_TRY(auto const told, desk::demo());
    Answer answer{desk::demo_json(told),
                  desk::demo_text(told),
                  {},
                  told.as_left.verdict == metrology::Verdict::meets};
    if (!args.folder.empty()) {
        GW_TRY(auto const written, desk::write_demo(told, args.folder));
        answer.json["written"] = written;
        answer.text += fmt::format(
            "\n{} files written to {}; try:  gaswright prove {}/proof_as_found.json --on {}\n",
            written.size(),
            args.folder,
            args.folder,
            to_text(told.scenario.date));
    }
    if (!args.handover.empty()) {
        GW_TRY(auto const written,
               desk::write_handover(desk::demo_handover(told, GW_VERSION), args.handover, paper));
        answer.json["handover"] = Json{{"file", written.file},
                                       {"sha256", written.sha256},
                                       {"data", written.data},
                                       {"data_sha256", written.data_sha256}};
        answer.text += fmt::format("\nHandover written to {}.\n", written.file);
    }
    return answer;
}

}  // namespace

void add_demo(CLI::App& program, Context& context) {
    auto args = std::make_shared<DemoArgs>();
    auto* command =
        program.add_subcommand("demo",
                               "An invented visit from start to end: what the analyser believed, "
                               "what the proving gas shows, what may be signed");
    command->footer("Example:  gaswright demo --write demo-files --handover handover.pdf");
    command->add_option(
        "--write", args->folder, "Also write the invented files and traces into this folder");
    command->add_option(
        "--handover", args->handover, "Also write the one-page handover of the visit: FILE.pdf");
    command->add_option("--paper", args->paper, "Its paper: a4 or letter")->capture_default_str();
    command->add_flag("--record",
                      args->record,
                      "Record the whole invented visit in a store instead, ready to be looked at, "
                      "signed and exported");
    add_store_option(*command, *args);
    command->callback([args, &context] { context.finish(demo(*args, context), args->json); });
}

}  // namespace gw::app
