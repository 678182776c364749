#include "serve/serve.hpp"

#include <fmt/format.h>
#include <spawn.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/commands.hpp"
#include "app/store_options.hpp"

extern char** environ;  // NOLINT(readability-redundant-declaration): not every unistd.h has it

namespace gw::app {

namespace {

struct ServeArgs : StoreArgs {
    std::uint16_t port = 0;
    bool open = false;
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

Result<> run_server(ServeArgs const& args, Context const& context) {
    serve::ServerOptions options;
    options.port = args.port;
    GW_TRY(auto outline, desk::demo_outline());
    GW_TRY(auto const act, act_of(args, context));
    // A record that cannot be used is said before anything is served, not in a window later.
    auto const file = store_path(args);
    options.spool_folder = std::filesystem::path(file).parent_path().string();
    if (std::filesystem::exists(file)) {
        GW_TRY([[maybe_unused]] auto const store, opened_store(args, context, false));
    }
    GW_TRY(auto server, serve::Server::listen(options));
    serve::App app{std::async(std::launch::deferred, desk::demo_visit).share(),
                   GW_VERSION,
                   server.port(),
                   std::move(outline)};
    app.now = [&context] { return context.now(); };
    app.user = act.who;
    app.books = std::make_shared<serve::Books>(serve::Books::Options{file, app.now, app.hub});
    app.judged = std::make_shared<serve::JudgedVisits>(app.books, app.hub);
    app.keys = std::make_shared<serve::KeyFolder>(
        (std::filesystem::path(file).parent_path() / "keys").string());
    app.demo_record = std::async(std::launch::deferred, desk::DemoRecord::make).share();
    app.jobs = std::make_shared<serve::Jobs>(app.hub);
    serve::Sessions sessions(serve::random_word);
    serve::Site const site(serve::routes(app, sessions), sessions, server.port());
    if (args.json)
        fmt::print("{}\n", Json{{"address", site.address()}, {"port", server.port()}}.dump());
    else
        fmt::print("{}\n", site.address());
    if (std::fflush(stdout) != 0)
        return fail(Errc::io, "The address cannot be written.", "standard output");
    if (args.open) open_browser(site.address());
    server.run({[&site](serve::Request const& head) { return site.longest_body(head); },
                [&site](serve::Request request) { return site.consider(std::move(request)); }});
    return {};
}

}  // namespace

void add_serve(CLI::App& program, Context& context) {
    auto args = std::make_shared<ServeArgs>();
    auto* command = program.add_subcommand(
        "serve", "The page, for a browser on this machine; ends with Ctrl-C");
    command->footer(
        "Example:  gaswright serve --open\nThe printed address carries a ticket that opens it "
        "once. "
        "Only this machine can reach it.");
    command->add_option("--port", args->port, "Port on 127.0.0.1 (default 0: any free one)");
    command->add_flag("--open", args->open, "Also open the address in the browser");
    command->add_option(
        "--store", args->file, "File of the record (default: the user's data folder)");
    command->add_option("--by", args->by, "Who records, unless the page names somebody else");
    command->add_flag("--json", args->json, "Print the address as structured data");
    command->callback([args, &context] {
        if (auto const ended = run_server(*args, context); !ended)
            context.finish(pass_on(ended.error()), false);
    });
}

}  // namespace gw::app
