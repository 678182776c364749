#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

// Server-sent events (the HTML standard, section 9.2). The demonstration does not change, so the
// stream says only that the program is there.
void add_events(Routes& routes, App const& app) {
    routes.get("/api/v1/events", [&app](Request const&) {
        Json const hello{{"version", app.version}};
        Response out;
        out.headers = {{"Content-Type", "text/event-stream"}, {"Cache-Control", "no-store"}};
        out.events = EventStream{fmt::format("event: hello\ndata: {}\n\n", hello.dump()),
                                 "event: heartbeat\ndata: {}\n\n",
                                 std::chrono::seconds(15)};
        return out;
    });
}

}  // namespace gw::serve
