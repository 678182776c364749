#include "serve/page.hpp"

#include "serve/assets.hpp"

namespace gw::serve {

namespace {

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
        if (asset.path == "/index.html")
            routes.get(
                "/",
                [&asset, &app, &sessions](Request const& request) {
                    return shell(asset, request, app, sessions);
                },
                Effect::shows);
        else
            routes.get(
                asset.path,
                [&asset](Request const& request) { return asset_response(asset, request); },
                Effect::shows);
    }
}

}  // namespace gw::serve
