// What is written in a visit. Every call says who, and which entry was the last he saw.
#include <functional>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "serve/api/acts.hpp"
#include "visit/thing.hpp"

namespace gw::serve {

namespace {

Result<Json> begin(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said,
           Said::of(body, {"plan", "analyser", "site", "title", "module", "criteria"}));
    desk::VisitStart start;
    GW_TRY(start.plan, said.root().text("plan"));
    GW_TRY(start.analyser, said.root().text("analyser"));
    GW_TRY(start.site, said.text("site"));
    GW_TRY(start.title, said.text("title"));
    GW_TRY(start.module, said.text("module"));
    GW_TRY(start.criteria, said.text("criteria"));
    GW_TRY(auto const act, act_of(app, said));
    // What was mistyped is refused before an absent record is made.
    GW_TRY([[maybe_unused]] auto const plan, visit::shipped_plan_text(start.plan));
    GW_TRY([[maybe_unused]] auto const tag, visit::thing_subject("analyser", start.analyser));
    std::string id;
    {
        GW_TRY(auto const store, app.books->write(Book::own));
        GW_TRY(id, desk::start_visit(*store, start, act));
    }
    app.books->look();
    return Json{{"visit", id}};
}

Response add(App const& app, Request const& request) {
    auto const body = json_body(request);
    if (!body) return problem(body.error());
    desk::VisitAdd what;
    auto& to = what.request;
    auto const read = [&]() -> Result<visit::Act> {
        GW_TRY(auto const said,
               Said::of(*body,
                        {"stage",
                         "step",
                         "value",
                         "unit",
                         "u",
                         "note",
                         "with",
                         "stream",
                         "override",
                         "not_done",
                         "not_obtainable",
                         "not_applicable",
                         "second",
                         "permit"}));
        GW_TRY(to.stage, said.root().text("stage"));
        GW_TRY(to.step, said.root().text("step"));
        GW_TRY(to.value, said.optional_text("value"));
        GW_TRY(to.unit, said.optional_text("unit"));
        GW_TRY(to.u, said.root().optional_number("u"));
        GW_TRY(to.note, said.optional_text("note"));
        GW_TRY(to.with, said.text("with"));
        GW_TRY(to.stream, said.text("stream"));
        GW_TRY(to.override_reason, said.optional_text("override"));
        GW_TRY(to.not_done, said.optional_text("not_done"));
        GW_TRY(to.not_obtainable, said.optional_text("not_obtainable"));
        GW_TRY(to.not_applicable, said.optional_text("not_applicable"));
        GW_TRY(to.second, said.text("second"));
        GW_TRY(to.permit, said.text("permit"));
        return act_of(app, said);
    };
    return recorded(app,
                    request.params.at("id"),
                    read(),
                    [&](store::Store& store, std::string const& id, visit::Act const& act) {
                        return desk::add_to_visit(store, id, what, act);
                    });
}

// The bytes are the body; what is said of them stands in the query.
Response add_file(App const& app, Request const& request) {
    desk::VisitAdd what;
    what.request.stage = asked(request, "stage").value_or("");
    what.request.step = asked(request, "step").value_or("");
    what.request.note = asked(request, "note");
    what.request.with = asked(request, "with").value_or("");
    what.request.stream = asked(request, "stream").value_or("");
    auto const as = asked(request, "as").value_or("file");
    what.request.aside = as == "aside";
    // A name is a word here and no path: only its last part is kept.
    auto const name = asked(request, "name").value_or("file");
    (as == "run" ? what.run_path : what.file_path) = name;
    what.borrowed = request.content();
    auto const read = [&]() -> Result<visit::Act> {
        if (as != "run" && as != "file" && as != "aside")
            return fail(Errc::bad_input,
                        "A file is taken as one of three.",
                        "as",
                        "give run, file or aside");
        if (request.content().empty())
            return fail(Errc::bad_input, "The file is empty.", "body", "choose another one");
        if (name.size() > 200)
            return fail(Errc::bad_input,
                        "The name of the file is too long.",
                        "name",
                        "give one of at most 200 letters");
        std::optional<double> seen;
        if (auto const text = asked(request, "seen")) {
            seen = parse_number(*text);
            if (!seen)
                return fail(Errc::bad_input, "This is no number of an entry.", "seen", "give one");
        }
        return act_of(
            app, asked(request, "by").value_or(""), asked(request, "at").value_or(""), seen);
    };
    return recorded(app,
                    request.params.at("id"),
                    read(),
                    [&](store::Store& store, std::string const& id, visit::Act const& act) {
                        return desk::add_to_visit(store, id, what, act);
                    });
}

// The acts on a visit as a whole: the fields of the body, and what is done with them.
struct WholeAct {
    std::vector<std::string_view> fields;
    std::function<Result<desk::Recorded>(
        store::Store&, std::string const&, Said const&, visit::Act const&)>
        act;
};

void add_act(Routes& routes, App const& app, std::string const& name, WholeAct what) {
    routes.post("/api/v1/visits/{id}/" + name, [&app, what](Request const& request) {
        auto const body = json_body(request);
        if (!body) return problem(body.error());
        auto const said = Said::of(*body, what.fields);
        if (!said) return problem(said.error());
        return recorded(app,
                        request.params.at("id"),
                        act_of(app, *said),
                        [&](store::Store& store, std::string const& id, visit::Act const& act) {
                            return what.act(store, id, *said, act);
                        });
    });
}

}  // namespace

void add_record(Routes& routes, App const& app) {
    using store::Store;
    using visit::Act;
    routes.post("/api/v1/visits",
                [&app](Request const& request) { return answered(begin(app, request)); });
    routes.post("/api/v1/visits/{id}/record",
                [&app](Request const& request) { return add(app, request); });
    routes.post("/api/v1/visits/{id}/file",
                [&app](Request const& request) { return add_file(app, request); },
                Effect::writes,
                {.longest_body = longest_file});
    add_act(routes,
            app,
            "undo",
            {{"entry", "reason"},
             [](Store& store, std::string const& id, Said const& said, Act const& act)
                 -> Result<desk::Recorded> {
                 GW_TRY(auto const entry, said.root().optional_number("entry"));
                 GW_TRY(auto const reason, said.text("reason"));
                 return desk::undo_in_visit(
                     store,
                     id,
                     entry ? std::optional(static_cast<std::int64_t>(*entry)) : std::nullopt,
                     reason,
                     act);
             }});
    add_act(routes,
            app,
            "interrupt",
            {{"reason"},
             [](Store& store, std::string const& id, Said const& said, Act const& act)
                 -> Result<desk::Recorded> {
                 GW_TRY(auto const reason, said.text("reason"));
                 return desk::interrupt_visit(store, id, reason, act);
             }});
    add_act(routes,
            app,
            "resume",
            {{}, [](Store& store, std::string const& id, Said const&, Act const& act) {
                 return desk::resume_visit(store, id, act);
             }});
    add_act(routes,
            app,
            "back",
            {{"to", "reason", "until", "owner"},
             [](Store& store, std::string const& id, Said const& said, Act const& act)
                 -> Result<desk::Recorded> {
                 visit::WayBackRequest way;
                 GW_TRY(way.to, said.root().text("to"));
                 GW_TRY(way.reason, said.text("reason"));
                 GW_TRY(way.until, said.text("until"));
                 GW_TRY(way.owner, said.text("owner"));
                 return desk::turn_back(store, id, way, act);
             }});
    add_act(routes,
            app,
            "end",
            {{"as", "reason", "until", "owner"},
             [](Store& store, std::string const& id, Said const& said, Act const& act)
                 -> Result<desk::Recorded> {
                 visit::EndRequest end;
                 GW_TRY(end.as, said.root().text("as"));
                 GW_TRY(end.reason, said.text("reason"));
                 GW_TRY(end.until, said.text("until"));
                 GW_TRY(end.owner, said.text("owner"));
                 return desk::end_visit(store, id, end, act);
             }});
}

}  // namespace gw::serve
