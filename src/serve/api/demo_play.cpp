// The invented visit, played by whoever wants to learn: in a record of its own, step by step.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "desk/demo_record.hpp"
#include "serve/api/acts.hpp"

namespace gw::serve {

namespace {

// One that is open goes on: playing twice leaves no heap of half-played visits.
Result<Json> play(App const& app) {
    auto const story = app.demo_record;  // a copy: threads share what it stands for, not the handle
    auto const& demo = story.get();
    if (!demo) return pass_on(demo.error());
    std::string id;
    {
        GW_TRY(auto const store, app.books->write(Book::invented));
        store::VisitFilter open;
        open.open_only = true;
        GW_TRY(auto const visits, store->visits(open));
        if (!visits.empty()) return Json{{"visit", visits.front().visit}};
        GW_TRY(id, demo->open(*store));
    }
    app.books->look();
    return Json{{"visit", id}};
}

// What was recorded for one step, or for every step of a stage that is still open.
std::vector<desk::DemoAdd> wanted(desk::DemoRecord const& demo,
                                  visit::VisitState const& state,
                                  std::string const& stage,
                                  std::string const& step) {
    std::vector<desk::DemoAdd> out;
    for (auto const& add : demo.all()) {
        if (!step.empty() ? add.request.step != step : add.request.stage != stage) continue;
        auto const* view = state.find(add.request.step);
        bool const open = view != nullptr && view->state == visit::StepState::open;
        if (open || !step.empty()) out.push_back(add);
    }
    return out;
}

Result<desk::Recorded> hand_in(desk::DemoRecord const& demo,
                               store::Store& store,
                               std::string const& id,
                               visit::Act const& act,
                               std::string const& stage,
                               std::string const& step) {
    GW_TRY(auto const loaded, desk::load_visit(store, id));
    auto const adds = wanted(demo, loaded.state, stage, step);
    if (adds.empty())
        return fail(Errc::not_found,
                    "The demonstration recorded nothing more for this.",
                    step.empty() ? "stage" : "step",
                    "go on to the next one");
    Result<desk::Recorded> done = fail(Errc::io, "");
    auto clock = act.now;
    for (auto const& add : adds) {
        visit::Act one{add.by, add.at, {}};
        // Handed in after what came later on the invented day: then it is late, and says so.
        if (clock.milliseconds > add.at.milliseconds) {
            one.now = clock;
            one.at = add.at;
        }
        clock = one.now;
        done = desk::add_to_visit(store, id, add, one);
        if (!done) return done;
    }
    return done;
}

Response add_demo(App const& app, Request const& request) {
    auto const body = json_body(request);
    if (!body) return problem(body.error());
    std::string stage, step;
    auto const read = [&]() -> Result<visit::Act> {
        GW_TRY(auto const said, Said::of(*body, {"stage", "step"}));
        GW_TRY(stage, said.text("stage"));
        GW_TRY(step, said.text("step"));
        if (stage.empty() == step.empty())
            return fail(
                Errc::bad_input, "A stage or a step is wanted.", "body", "name one of the two");
        return act_of(app, said);
    };
    return recorded(app,
                    request.params.at("id"),
                    read(),
                    [&](store::Store& store,
                        std::string const& id,
                        visit::Act const& act) -> Result<desk::Recorded> {
                        GW_TRY(auto const book, app.books->book_of_visit(id));
                        if (book != Book::invented)
                            return fail(Errc::conflict,
                                        "This visit is your own: nothing invented goes into it.",
                                        "visit",
                                        "play the demonstration's");
                        auto const story = app.demo_record;
                        auto const& demo = story.get();
                        if (!demo) return pass_on(demo.error());
                        return hand_in(*demo, store, id, act, stage, step);
                    });
}

}  // namespace

void add_demo_play(Routes& routes, App const& app) {
    routes.post("/api/v1/demo", [&app](Request const&) { return answered(play(app)); });
    routes.post("/api/v1/visits/{id}/demo",
                [&app](Request const& request) { return add_demo(app, request); });
}

}  // namespace gw::serve
