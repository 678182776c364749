#include <nlohmann/json.hpp>

#include "serve/page.hpp"

namespace gw::serve {

void add_jobs(Routes& routes, App const& app) {
    routes.get("/api/v1/jobs/{id}", [&app](Request const& request) {
        auto const job = app.jobs->look(request.params.at("id"));
        if (job) return json(*job);
        return problem(Error{Errc::not_found,
                             "There is no job of this number.",
                             "job",
                             "it is forgotten, or the program was started anew: start it again"});
    });
}

}  // namespace gw::serve
