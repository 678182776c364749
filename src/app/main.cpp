#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <cstdio>
#include <exception>
#include <new>

#include "app/commands.hpp"
#include "app/usage_error.hpp"

namespace {

int run(int argc, char** argv) {
    gw::app::Context context;
    CLI::App program{
        "gaswright: an independent second opinion on on-line natural-gas chromatographs.\n"
        "Start with:  gaswright look report.csv      (a printed calibration report)\n"
        "       or:   gaswright demo                 (an invented visit, start to end)"};
    program.name("gaswright");
    program.set_version_flag("--version", std::string("gaswright ") + GW_VERSION);
    program.require_subcommand(1);
    try {
        gw::app::add_commands(program, context);
        program.parse(argc, argv);
    } catch (CLI::Success const& asked) {  // --help, --version
        return program.exit(asked);
    } catch (CLI::ParseError const& error) {
        auto const problem = gw::app::usage_error(program, error);
        fmt::print(stderr, "gaswright: {}\n", gw::one_line(problem));
        return gw::exit_code(problem.code);
    }
    return context.exit_code();
}

}  // namespace

int main(int argc, char** argv) {
    // A closed pipe is an error of the write, not the end of the program.
    std::signal(SIGPIPE, SIG_IGN);  // NOLINT(performance-no-int-to-ptr): the macro's own cast
    try {
        return run(argc, argv);
    } catch (std::bad_alloc const&) {
        std::fputs("gaswright: There is not enough memory for this input; give a smaller file\n",
                   stderr);
    } catch (std::exception const& error) {
        std::fputs("gaswright: internal fault (", stderr);
        std::fputs(error.what(), stderr);
        std::fputs("); please report it with the input\n", stderr);
    }
    return 3;
}
