#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

void add_health(Routes& routes, App const& app) {
    routes.get("/api/v1/health", [&app](Request const&) {
        return json(Json{{"status", "ok"}, {"version", app.version}});
    });
}

}  // namespace gw::serve
