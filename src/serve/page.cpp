#include "serve/page.hpp"

#include <array>

#include "serve/assets.hpp"

namespace gw::serve {

namespace {

// As in web/src/shell/places.ts; a test holds the two lists together.
constexpr std::array places = {"/demo",
                               "/visits",
                               "/visit/{id}",
                               "/look",
                               "/analysers",
                               "/analysers/{tag}",
                               "/trace",
                               "/twin",
                               "/sums",
                               "/sums/{sum}",
                               "/files",
                               "/settings"};

// The shell; with ?ticket=... also the way in. The ticket leaves the address bar by a redirect, so
// that it stands in no history. A HEAD must not spend it.
Response shell(Asset const& index, Request const& request, App const& app, Sessions& sessions) {
    auto const ticket = request.query.find("ticket");
    if (ticket == request.query.end()) return asset_response(index, request);
    if (request.method == Method::head) return asset_response(index, request);
    if (auto const session = sessions.exchange(ticket->second))
        return {303,
                {{"Location", "/"},
                 {"Cache-Control", "no-store"},
                 {"Set-Cookie", set_cookie(app.port, *session)}},
                {},
                {}};
    auto out = asset_response(index, request);  // the page itself says what to do
    out.status = 401;
    for (auto& [name, value] : out.headers)
        if (name == "Cache-Control") value = "no-store";
    return out;
}

}  // namespace

void add_page(Routes& routes, App const& app, Sessions& sessions) {
    for (auto const& asset : assets()) {
        if (asset.path == "/index.html") {
            routes.get(
                "/",
                [&asset, &app, &sessions](Request const& request) {
                    return shell(asset, request, app, sessions);
                },
                Effect::shows);
            // Every place of the page is the same file: which one it shows, the address says.
            for (auto const* place : places)
                routes.get(
                    place,
                    [&asset](Request const& request) { return asset_response(asset, request); },
                    Effect::shows);
        } else
            routes.get(
                asset.path,
                [&asset](Request const& request) { return asset_response(asset, request); },
                Effect::shows);
    }
}

}  // namespace gw::serve
