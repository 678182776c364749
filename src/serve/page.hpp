#pragma once
/// Everything that is served: the embedded page and the calls of the API.
#include <cstdint>
#include <future>
#include <string>

#include "desk/demo_visit.hpp"
#include "serve/site.hpp"

namespace gw::serve {

/// What the handlers read. Lives as long as the routes made of it.
struct App {
    /// Reckoned while the page is already on its way; a call for it waits until it is there.
    std::shared_future<Result<desk::DemoVisit>> visit;
    std::string version;
    std::uint16_t port{};
    Json outline;  ///< of the visit, before it is reckoned
};

void add_page(Routes& routes, App const& app, Sessions& sessions);
void add_session(Routes& routes, App const& app, Sessions& sessions);
void add_visit(Routes& routes, App const& app);
void add_health(Routes& routes, App const& app);
void add_events(Routes& routes, App const& app);

inline Routes routes(App const& app, Sessions& sessions) {
    Routes out;
    add_page(out, app, sessions);
    add_session(out, app, sessions);
    add_visit(out, app);
    add_health(out, app);
    add_events(out, app);
    return out;
}

}  // namespace gw::serve
