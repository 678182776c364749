// What is written in a visit. Every call says who, and which entry was the last he saw.
#include <algorithm>
#include <array>
#include <functional>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/visit.hpp"
#include "serve/api/body.hpp"
#include "serve/api/visit_json.hpp"
#include "serve/page.hpp"
#include "visit/thing.hpp"

namespace gw::serve {

namespace {

// A body whose every field is known: one that is misspelt is a fault, not silence.
class Said {
  public:
    Said(Field root, std::vector<std::string_view> known) : root_(std::move(root)) {
        auto const members = root_.members();
        if (!members) return;
        for (auto const& [name, value] : *members)
            if (std::find(known.begin(), known.end(), name) == known.end())
                unknown_ = Error{Errc::bad_input,
                                 "Nothing of this name is taken here.",
                                 value.where(),
                                 "leave it out"};
    }
    [[nodiscard]] Result<> known() const {
        if (unknown_) return pass_on(*unknown_);
        return {};
    }
    [[nodiscard]] Result<std::string> text(std::string_view name) const {
        return root_.text_or(name, "");
    }
    [[nodiscard]] Result<std::optional<std::string>> optional_text(std::string_view name) const {
        auto const field = root_.find(name);
        if (!field) return std::optional<std::string>();
        GW_TRY(auto text, field->text());
        return std::optional(std::move(text));
    }
    [[nodiscard]] Field const& root() const { return root_; }

  private:
    Field root_;
    std::optional<Error> unknown_;
};

Result<visit::Act> act_of(App const& app,
                          std::string const& by,
                          std::string const& at,
                          std::optional<double> seen) {
    visit::Act act;
    act.who = by.empty() ? app.user : by;
    act.now = app.now();
    if (!at.empty()) {
        GW_TRY(act.at, parse_instant(at, "at"));
    }
    if (seen) act.seen = static_cast<std::int64_t>(*seen);
    return act;
}

Result<visit::Act> act_of(App const& app, Said const& said) {
    GW_TRY(auto const by, said.text("by"));
    GW_TRY(auto const at, said.text("at"));
    GW_TRY(auto const seen, said.root().optional_number("seen"));
    return act_of(app, by, at, seen);
}

constexpr std::array<std::string_view, 3> acting = {"by", "at", "seen"};

Result<Said> said_of(Document const& document, std::vector<std::string_view> fields) {
    fields.insert(fields.end(), acting.begin(), acting.end());
    Said said(document.root(), std::move(fields));
    GW_CHECK(said.known());
    return said;
}

// What came between, for the one who must now look at it.
Json between(App const& app, std::string const& id, std::int64_t seen) {
    Json out = Json::array();
    auto const book = app.books->book_of_visit(id);
    if (!book) return out;
    auto const store = app.books->read(*book);
    if (!store) return out;
    auto const loaded = desk::load_visit(**store, id);
    if (!loaded) return out;
    for (auto const& entry : loaded->entries) {
        if (entry.sequence <= seen) continue;
        auto const body = visit::body_of(entry);
        auto const step = body ? body->root().text_or("step", "").value_or("") : std::string();
        out.push_back(Json{{"entry", entry.sequence},
                           {"kind", entry.kind},
                           {"who", entry.who},
                           {"recorded", entry.recorded},
                           {"step", step.empty() ? Json(nullptr) : Json(step)}});
    }
    return out;
}

using Do = std::function<Result<desk::Recorded>(store::Store&, std::string const& id)>;

// Writes in the book of that visit, tells the windows, answers where the visit stands now.
Response recorded(App const& app,
                  std::string const& id,
                  Result<visit::Act> const& act,
                  Do const& act_on) {
    if (!act) return problem(act.error());
    auto const made = [&]() -> Result<Json> {
        GW_TRY(auto const book, app.books->book_of_visit(id));
        GW_TRY(auto const store,
               app.books->exists(book) ? app.books->write(book) : app.books->read(book));
        GW_TRY(auto done, act_on(*store, id));
        auto what = desk::recorded_json(done);
        return Json{{"recorded", std::move(what)},
                    {"visit", standing_json(std::move(done.state), book, app.now())}};
    }();
    if (made) {
        app.books->look();
        return json(*made);
    }
    auto const& error = made.error();
    if (error.code != Errc::conflict || error.where != "seen") return problem(error);
    return problem(Problem{409,
                           "grown",
                           error.what,
                           error.where,
                           error.mend,
                           {{"between", between(app, id, act->seen.value_or(0))}}});
}

Result<Json> begin(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said,
           said_of(body, {"plan", "analyser", "site", "title", "module", "criteria"}));
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
               said_of(*body,
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
    auto const act = read();
    return recorded(
        app, request.params.at("id"), act, [&](store::Store& store, std::string const& id) {
            return desk::add_to_visit(store, id, what, *act);
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
    what.given =
        desk::GivenBytes{asked(request, "name").value_or("file"), request.body, as == "run"};
    auto const read = [&]() -> Result<visit::Act> {
        if (as != "run" && as != "file" && as != "aside")
            return fail(Errc::bad_input,
                        "A file is taken as one of three.",
                        "as",
                        "give run, file or aside");
        if (request.body.empty())
            return fail(Errc::bad_input, "The file is empty.", "body", "choose another one");
        if (what.given->name.size() > 200)
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
    auto const act = read();
    return recorded(
        app, request.params.at("id"), act, [&](store::Store& store, std::string const& id) {
            return desk::add_to_visit(store, id, what, *act);
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
        auto const said = said_of(*body, what.fields);
        if (!said) return problem(said.error());
        auto const act = act_of(app, *said);
        return recorded(
            app, request.params.at("id"), act, [&](store::Store& store, std::string const& id) {
                return what.act(store, id, *said, *act);
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
