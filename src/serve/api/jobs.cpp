#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

namespace {

Response none() {
    return problem(Error{Errc::not_found,
                         "There is no job of this number.",
                         "job",
                         "it is forgotten, or the program was started anew: start it again"});
}

}  // namespace

void add_jobs(Routes& routes, App const& app) {
    routes.get("/api/v1/jobs/{id}", [&app](Request const& request) {
        auto const job = app.jobs->look(request.params.at("id"));
        return job ? json(*job) : none();
    });
    // One that has ended already is answered as it ended.
    routes.post(
        "/api/v1/jobs/{id}/stop",
        [&app](Request const& request) {
            auto const& id = request.params.at("id");
            app.jobs->stop(id);
            auto const job = app.jobs->look(id);
            return job ? json(*job) : none();
        },
        Effect::reads);
}

}  // namespace gw::serve
