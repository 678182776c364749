#include "serve/serve.hpp"

#include <fmt/format.h>
#include <spawn.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"

extern char** environ;

namespace gw::app {

namespace {

struct ServeArgs {
    std::uint16_t port = 0;
    bool open = false, json = false;
};

// Best effort: the address is printed in any case.
void open_browser(std::string address) {
    if (std::getenv("DISPLAY") == nullptr && std::getenv("WAYLAND_DISPLAY") == nullptr) {
        fmt::print(stderr, "gaswright: note: no display; open the address in a browser yourself\n");
        return;
    }
    std::string command = "xdg-open";
    char* words[] = {command.data(), address.data(), nullptr};
    pid_t child = 0;
    if (posix_spawnp(&child, "xdg-open", nullptr, nullptr, words, environ) != 0)
        fmt::print(
            stderr,
            "gaswright: note: xdg-open is missing; open the address in a browser yourself\n");
}

Result<> run_server(ServeArgs const& args) {
    serve::ServerOptions options;
    options.port = args.port;
    GW_TRY(auto outline, desk::demo_outline());
    GW_TRY(auto server, serve::Server::listen(options));
    serve::App const app{std::async(std::launch::async, desk::demo_visit).share(),
                         GW_VERSION,
                         server.port(),
                         std::move(outline)};
    serve::Sessions sessions(serve::random_word);
    serve::Site const site(serve::routes(app, sessions), sessions, server.port());
    if (args.json)
        fmt::print("{}\n", Json{{"address", site.address()}, {"port", server.port()}}.dump());
    else
        fmt::print("{}\n", site.address());
    if (std::fflush(stdout) != 0)
        return fail(Errc::io, "The address cannot be written.", "standard output");
    if (args.open) open_browser(site.address());
    server.run([&site](serve::Request request) { return site.answer(std::move(request)); });
    return {};
}

}  // namespace

void add_serve(CLI::App& program, Context& context) {
    auto args = std::make_shared<ServeArgs>();
    auto* command = program.add_subcommand(
        "serve", "The invented visit in a browser on this machine; ends with Ctrl-C");
    command->footer(
        "Example:  gaswright serve --open\nThe printed address carries a ticket that opens it "
        "once. "
        "Only this machine can reach it.");
    command->add_option("--port", args->port, "Port on 127.0.0.1 (default 0: any free one)");
    command->add_flag("--open", args->open, "Also open the address in the browser");
    command->add_flag("--json", args->json, "Print the address as structured data");
    command->callback([args, &context] {
        if (auto const ended = run_server(*args); !ended)
            context.finish(pass_on(ended.error()), false);
    });
}

}  // namespace gw::app
