#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <exception>

#include "app/commands.hpp"

int main(int argc, char** argv) {
    std::signal(SIGPIPE,
                SIG_IGN);  // a closed pipe is an error of the write, not the end of the program
    gw::app::Context context;
    CLI::App program{
        "gaswright: an independent second opinion on on-line natural-gas chromatographs.\n"
        "Start with:  gaswright look report.csv      (a printed calibration report)\n"
        "       or:   gaswright demo                 (an invented visit, start to end)"};
    program.name("gaswright");
    program.set_version_flag("--version", std::string("gaswright ") + GW_VERSION);
    program.require_subcommand(1);
    program.failure_message(CLI::FailureMessage::simple);
    try {
        gw::app::add_commands(program, context);
        program.parse(argc, argv);
    } catch (CLI::CallForHelp const& help) {
        return program.exit(help);
    } catch (CLI::CallForAllHelp const& help) {
        return program.exit(help);
    } catch (CLI::CallForVersion const& version) {
        return program.exit(version);
    } catch (CLI::ParseError const& error) {
        fmt::print(stderr,
                   "gaswright: command line: {}; see gaswright --help\n",
                   gw::one_line({gw::Errc::bad_input, error.what(), "", ""}));
        return 2;
    } catch (std::bad_alloc const&) {
        fmt::print(stderr,
                   "gaswright: There is not enough memory for this input; give a smaller file\n");
        return 3;
    } catch (std::exception const& error) {
        fmt::print(stderr,
                   "gaswright: internal fault ({}); please report it with the input\n",
                   error.what());
        return 3;
    }
    return context.exit_code();
}
