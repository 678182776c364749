#include "app/usage_error.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <vector>

#include "base/text.hpp"

namespace gw::app {

namespace {

constexpr std::size_t longest_quoted = 60;  // characters of what was typed: enough to find it again

std::string quoted(std::string const& typed) {
    return "\"" + typed.substr(0, longest_quoted) + "\"";
}

bool is_option(std::string const& word) { return word.size() > 1 && word.front() == '-'; }

/// The command that the words led to, and its name as typed: "gaswright gas properties".
struct Command {
    CLI::App const* app;
    std::string name;
};

Command reached(CLI::App const& program) {
    Command at{&program, program.get_name()};
    for (auto below = at.app->get_subcommands(); !below.empty();
         below = at.app->get_subcommands()) {
        at.app = below.back();
        at.name += " " + at.app->get_name();
    }
    return at;
}

std::string commands_of(CLI::App const& app) {
    std::vector<std::string> names;
    for (auto const* sub : app.get_subcommands([](CLI::App const*) { return true; }))
        names.push_back(sub->get_name());
    return joined(names, ", ");
}

}  // namespace

Error usage_error(CLI::App const& program, CLI::ParseError const& error) {
    auto const command = reached(program);
    auto const help = fmt::format("see {} --help", command.name);
    auto const at = [&](std::string where, std::string what) {
        return Error{Errc::bad_input, std::move(what), std::move(where), help};
    };
    auto const leftover = program.remaining(true);
    if (!leftover.empty() && is_option(leftover.front()))
        return at(leftover.front().substr(0, longest_quoted),
                  fmt::format("{} has no such option", command.name));
    if (command.app->get_require_subcommand_min() > 0) {
        auto error_here =
            at("command line",
               leftover.empty()
                   ? fmt::format("{} needs a command", command.name)
                   : fmt::format("{} has no command {}", command.name, quoted(leftover.front())));
        error_here.mend = fmt::format("choose {}; {}", commands_of(*command.app), help);
        return error_here;
    }
    std::string const message = error.what();
    if (error.get_name() == "ExtrasError" && !leftover.empty())
        return at("command line", quoted(leftover.front()) + " is one argument too many");

    // The parser's own sentences: "NAME is required", "Could not convert: NAME = VALUE" and
    // "NAME: what is wrong". Any other is passed on as it is.
    constexpr std::string_view missing = " is required", unreadable = "Could not convert: ";
    if (error.get_name() == "RequiredError" && message.ends_with(missing)) {
        auto const name = message.substr(0, message.size() - missing.size());
        return is_option(name) ? at(name, "This option is missing")
                               : at("command line", name + " is missing");
    }
    if (message.starts_with(unreadable)) {
        auto const rest = message.substr(unreadable.size());
        if (auto const equals = rest.find(" = "); equals != std::string::npos)
            return at(rest.substr(0, equals),
                      quoted(rest.substr(equals + 3)) + " is not a number that fits here");
    }
    if (auto const colon = message.find(": "); colon != std::string::npos && is_option(message)) {
        auto const what = message.substr(colon + 2);
        if (error.get_name() == "ArgumentMismatch")
            return at(message.substr(0, colon), "A value is missing, or there is one too many");
        return at(message.substr(0, colon), what);
    }
    return at("command line", message);
}

}  // namespace gw::app
