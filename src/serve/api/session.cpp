#include <nlohmann/json.hpp>

#include "base/json.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

Response open_session(Request const& request, App const& app, Sessions& sessions) {
    auto const type = request.header("content-type");
    if (type.substr(0, type.find(';')) != "application/json")
        return problem(Problem{
            415, "type", "The body must be JSON.", "Content-Type", "send application/json", {}});
    auto const document = parse_json(request.body, "body");
    if (!document) return problem(document.error());
    auto const ticket = document->root().text("ticket");
    if (!ticket) return problem(ticket.error());
    auto const session = sessions.exchange(*ticket);
    if (!session)
        return problem(Problem{401,
                               "ticket",
                               "This ticket is wrong or was used.",
                               "ticket",
                               "start the program again and open the new address",
                               {}});
    auto out = json(Json{{"session", "open"}});
    out.headers.emplace_back("Set-Cookie", set_cookie(app.port, *session));
    return out;
}

}  // namespace

void add_session(Routes& routes, App const& app, Sessions& sessions) {
    routes.post(
        "/api/v1/session",
        [&app, &sessions](Request const& request) { return open_session(request, app, sessions); },
        Effect::opens_session);
}

}  // namespace gw::serve
