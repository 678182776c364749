#include "desk/demo.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"

namespace gw::app {

namespace {

struct DemoArgs {
    std::string folder;
    bool json = false;
};

Result<Answer> demo(DemoArgs const& args) {
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
    return answer;
}

}  // namespace

void add_demo(CLI::App& program, Context& context) {
    auto args = std::make_shared<DemoArgs>();
    auto* command =
        program.add_subcommand("demo",
                               "An invented visit from start to end: what the analyser believed, "
                               "what the proving gas shows, what may be signed");
    command->footer("Example:  gaswright demo --write demo-files");
    command->add_option(
        "--write", args->folder, "Also write the invented files and traces into this folder");
    command->add_flag("--json", args->json, "The same story as structured data");
    command->callback([args, &context] { context.finish(demo(*args), args->json); });
}

}  // namespace gw::app
