#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

namespace {

Response get_visit(App const& app) {
    auto const story = app.visit;  // a copy: threads share what it stands for, not the handle
    auto const& visit = story.get();
    return visit ? json(visit->visit) : problem(visit.error());
}

Response get_run(App const& app, Request const& request) {
    auto const story = app.visit;
    auto const& visit = story.get();
    if (!visit) return problem(visit.error());
    auto const& id = request.params.at("id");
    auto const run = visit->runs.find(id);
    if (run == visit->runs.end())
        return problem(Error{Errc::not_found,
                             "There is no run of this name.",
                             "run",
                             "take one that the visit lists"});
    return json(run->second());
}

}  // namespace

void add_visit(Routes& routes, App const& app) {
    routes.get("/api/v1/outline", [&app](Request const&) { return json(app.outline); });
    routes.get("/api/v1/visit", [&app](Request const&) { return get_visit(app); });
    routes.get("/api/v1/runs/{id}",
               [&app](Request const& request) { return get_run(app, request); });
}

}  // namespace gw::serve
