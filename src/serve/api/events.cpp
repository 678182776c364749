#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

// Server-sent events (the HTML standard, section 9.2): what the hub tells, "record", "judged" and
// "job" among it, and that the program is there.
void add_events(Routes& routes, App const& app) {
    routes.get("/api/v1/events", [&app](Request const&) {
        Json const hello{{"version", app.version}};
        Response out;
        out.headers = {{"Content-Type", "text/event-stream"}, {"Cache-Control", "no-store"}};
        out.events = EventStream{event_text("hello", hello),
                                 event_text("heartbeat", Json::object()),
                                 std::chrono::seconds(15),
                                 app.hub};
        return out;
    });
}

}  // namespace gw::serve
