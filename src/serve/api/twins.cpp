#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "desk/twin_fit.hpp"
#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

using Held = std::shared_ptr<desk::TwinBench const>;

constexpr std::size_t most_runs_fitted = 20;  // their mean is fitted: more change nothing

Result<Held> held(App const& app, Request const& request) {
    if (auto twin = app.shelves->twins.find(request.params.at("id"))) return twin;
    return fail(Errc::not_found, "This twin is not open any more.", "twin", "open it again");
}

Result<Json> open(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const method, body.root().text("method"));
    GW_TRY(auto const gas, body.root().text("gas"));
    GW_TRY(auto bench, desk::twin_bench(method, gas));
    auto const id = sha256(method + '\n' + gas);
    auto out = desk::twin_bench_json(bench);
    out["id"] = id;
    app.shelves->twins.keep(id, std::move(bench), 4 * (method.size() + gas.size()) + 65536);
    return out;
}

// A minute or less of work: started here, told of by events, stopped when nobody wants it.
Result<Json> fit(App const& app, Request const& request) {
    GW_TRY(auto const twin, held(app, request));
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const visit, body.root().text("visit"));
    GW_TRY(auto const word, body.root().text("gas"));
    GW_TRY(auto const gas, desk::fit_gas_of(word));
    GW_TRY(auto const list, body.root().at("entries"));
    GW_TRY(auto const items, list.items());
    std::vector<std::int64_t> entries;
    for (auto const& item : items) {
        GW_TRY(double const number, item.number_within(0, 1e15));
        entries.push_back(static_cast<std::int64_t>(number));
    }
    if (entries.size() > most_runs_fitted)
        return list.wrong("These are more runs than a fit takes.", "choose at most 20");
    GW_TRY(auto const book, app.books->book_of_visit(visit));
    auto inputs = std::make_shared<desk::TwinFitInputs>();
    {
        GW_TRY(auto const store, app.books->read(book));
        GW_TRY(*inputs, desk::twin_fit_inputs(*twin, *store, visit, entries, gas));
    }
    auto const title =
        fmt::format("Fitting the twin to {} run{}", entries.size(), entries.size() == 1 ? "" : "s");
    auto const id =
        app.jobs->start(title, [inputs, visit, word](Jobs::Report const& report) -> Result<Json> {
            GW_TRY(auto const done, desk::twin_fit(*inputs, [&](double share) {
                       return report(share, "Comparing simulated and real traces");
                   }));
            auto out = desk::oven_fit_json(done.fit);
            out["runs"] = inputs->names;
            out["visit"] = visit;
            out["gas"] = word;
            out["method"] = Json{{"name", "method_fitted.json"}, {"text", done.method}};
            return out;
        });
    return Json{{"job", id}};
}

Result<oven::Oven> moved(desk::TwinBench const& bench, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const programme, body.root().at("programme"));
    return desk::with_events(bench, programme.raw());
}

Result<Json> run(App const& app, Request const& request) {
    GW_TRY(auto const twin, held(app, request));
    GW_TRY(auto const oven, moved(*twin, request));
    return desk::twin_run_json(*twin, oven);
}

// Losses as a list: their names are those of the components.
Json listed(Json proposal) {
    Json losses = Json::array();
    for (auto const& [component, row] : proposal["losses"].items()) {
        Json one{{"component", component}};
        for (auto const* key :
             {"lost_percent", "gained_percent", "lost_percent_before", "gained_percent_before"})
            one[key] = row.value(key, Json(nullptr));
        losses.push_back(std::move(one));
    }
    proposal["losses"] = std::move(losses);
    return proposal;
}

Result<Json> propose(App const& app, Request const& request) {
    GW_TRY(auto const twin, held(app, request));
    GW_TRY(auto const oven, moved(*twin, request));
    auto const done = desk::retiming_of(twin->twin.method, oven, twin->amounts);
    GW_TRY(auto text, desk::retimed_method(twin->twin, done));
    auto out = listed(desk::oven_retiming_json(done));
    out["clean"] = done.clean();
    out["method"] = Json{{"name", "method_retimed.json"}, {"text", std::move(text)}};
    return out;
}

Result<Json> sheet(App const& app, Request const& request) {
    GW_TRY(auto const twin, held(app, request));
    GW_TRY(auto const oven, moved(*twin, request));
    GW_TRY(auto text, desk::with_programme(twin->twin, oven));
    return Json{{"name", "method_moved.json"}, {"text", std::move(text)}};
}

}  // namespace

void add_twins(Routes& routes, App const& app) {
    constexpr Takes files{1UL << 20};
    routes.post(
        "/api/v1/twins",
        [&app](Request const& request) { return answered(open(app, request)); },
        Effect::reads,
        files);
    using Played = Result<Json> (*)(App const&, Request const&);
    std::pair<char const*, Played> const played[] = {{"/api/v1/twins/{id}/run", run},
                                                     {"/api/v1/twins/{id}/retime", propose},
                                                     {"/api/v1/twins/{id}/fit", fit},
                                                     {"/api/v1/twins/{id}/sheet", sheet}};
    for (auto const& [path, answer] : played)
        routes.post(
            path,
            [&app, answer = answer](Request const& request) {
                return answered(answer(app, request));
            },
            Effect::reads);
}

}  // namespace gw::serve
