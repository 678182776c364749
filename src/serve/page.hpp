#pragma once
/// Everything that is served: the embedded page and the calls of the API.
#include <cstdint>
#include <functional>
#include <future>
#include <memory>
#include <string>

#include "desk/demo_record.hpp"
#include "desk/demo_visit.hpp"
#include "serve/books.hpp"
#include "serve/jobs.hpp"
#include "serve/judged.hpp"
#include "serve/keys.hpp"
#include "serve/shelves.hpp"
#include "serve/site.hpp"

namespace gw::serve {

/// What the handlers read. Lives as long as the routes made of it.
struct App {
    /// The told demonstration, reckoned when it is first asked for; a call for it waits until then.
    std::shared_future<Result<desk::DemoVisit>> visit;
    std::string version;
    std::uint16_t port{};
    Json outline;  ///< of the told demonstration, before it is reckoned
    std::shared_ptr<EventHub> hub = std::make_shared<EventHub>();
    std::shared_ptr<Books> books = {};
    std::shared_ptr<JudgedVisits> judged = {};
    std::shared_ptr<Jobs> jobs = {};
    std::shared_ptr<KeyFolder> keys = {};
    desk::Cost key_cost = desk::Cost::usual;
    /// What the demonstration recorded, reckoned when it is first asked for.
    std::shared_future<Result<desk::DemoRecord>> demo_record = {};
    std::shared_ptr<Shelves> shelves = std::make_shared<Shelves>();  ///< what the page has opened
    std::function<Instant()> now = {};
    std::string user = {};  ///< of this machine: who records, unless somebody else is named
};

void add_page(Routes& routes, App const& app, Sessions& sessions);
void add_session(Routes& routes, App const& app, Sessions& sessions);
void add_visit(Routes& routes, App const& app);
void add_health(Routes& routes, App const& app);
void add_events(Routes& routes, App const& app);
void add_start(Routes& routes, App const& app);
void add_jobs(Routes& routes, App const& app);
void add_files(Routes& routes, App const& app);
void add_visits(Routes& routes, App const& app);
void add_record(Routes& routes, App const& app);
void add_demo_play(Routes& routes, App const& app);
void add_sign(Routes& routes, App const& app);
void add_people(Routes& routes, App const& app);
void add_examples(Routes& routes, App const& app);
void add_look(Routes& routes, App const& app);
void add_sums(Routes& routes, App const& app);
void add_traces(Routes& routes, App const& app);
void add_twins(Routes& routes, App const& app);
void add_histories(Routes& routes, App const& app);
void add_pressures(Routes& routes, App const& app);

inline Routes routes(App const& app, Sessions& sessions) {
    Routes out;
    add_page(out, app, sessions);
    add_session(out, app, sessions);
    add_visit(out, app);
    add_health(out, app);
    add_events(out, app);
    add_start(out, app);
    add_jobs(out, app);
    add_files(out, app);
    add_visits(out, app);
    add_record(out, app);
    add_demo_play(out, app);
    add_sign(out, app);
    add_people(out, app);
    add_examples(out, app);
    add_look(out, app);
    add_sums(out, app);
    add_traces(out, app);
    add_twins(out, app);
    add_histories(out, app);
    add_pressures(out, app);
    return out;
}

}  // namespace gw::serve
