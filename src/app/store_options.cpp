#include "app/store_options.hpp"

#include <CLI/CLI.hpp>
#include <cstdlib>

#include "base/text.hpp"

namespace gw::app {

namespace {

std::string environment(char const* name) {
    char const* const value =
        std::getenv(name);  // NOLINT(concurrency-mt-unsafe): read at start only
    return value == nullptr ? std::string() : std::string(value);
}

}  // namespace

void add_store_option(CLI::App& command, StoreArgs& args) {
    command.add_option(
        "--store", args.file, "File of the record (default: the user's data folder)");
    command.add_flag("--json", args.json, "The same as structured data");
}

void add_record_options(CLI::App& command, StoreArgs& args) {
    add_store_option(command, args);
    command.add_option("--by", args.by, "Who did or saw it (default: the user of this machine)");
    command.add_option(
        "--at", args.at, "When it was so, for example 2026-03-02T10:15:00+01:00 (default: now)");
}

std::string store_path(StoreArgs const& args) {
    return desk::store_file(args.file, environment("XDG_DATA_HOME"), environment("HOME"));
}

Result<std::unique_ptr<store::Store>> opened_store(StoreArgs const& args,
                                                   Context const& context,
                                                   bool create) {
    store::StoreOptions options;
    options.file = store_path(args);
    options.now = context.now();
    options.create = create;
    return store::open_store(options);
}

Result<visit::Act> act_of(StoreArgs const& args, Context const& context) {
    visit::Act act;
    act.now = context.now();
    act.who = args.by;
    for (auto const* name : {"USER", "LOGNAME"})
        if (act.who.empty()) act.who = environment(name);
    if (act.who.empty()) act.who = "not named";
    act.who = std::string(trimmed(act.who));
    if (act.who.empty())
        return fail(Errc::bad_input, "The name is empty.", "--by", "name who did or saw it");
    if (!args.at.empty()) {
        GW_TRY(act.at, parse_instant(args.at, "--at"));
    }
    return act;
}

}  // namespace gw::app
