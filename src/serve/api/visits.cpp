// Visits as they are read: the list, where one stands, what was found, a run of it, a kept file.
#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "desk/visit_line.hpp"
#include "desk/visit_settling.hpp"
#include "serve/api/acts.hpp"
#include "visit/visit_output.hpp"

namespace gw::serve {

namespace {

Result<Json> list(App const& app) {
    Json all = Json::array();
    for (auto const book : {Book::own, Book::invented}) {
        GW_TRY(auto const store, app.books->read(book));
        GW_TRY(auto const lines, store->visits({}));
        auto const listed = desk::visits_json(lines);
        for (auto line : listed["visits"]) {
            line["invented"] = book == Book::invented;
            all.push_back(std::move(line));
        }
    }
    std::stable_sort(all.begin(), all.end(), [](Json const& a, Json const& b) {
        return a["changed"].get<std::string>() > b["changed"].get<std::string>();
    });
    return Json{{"visits", std::move(all)}};
}

Result<Json> plans() {
    Json out = Json::array();
    for (auto const& name : visit::shipped_plans()) {
        GW_TRY(auto const text, visit::shipped_plan_text(name));
        GW_TRY(auto const plan, visit::read_plan(text, name));
        out.push_back(Json{{"name", name}, {"title", plan.title}, {"summary", plan.summary}});
    }
    return Json{{"plans", std::move(out)}};
}

Result<Json> show(App const& app, std::string const& id) {
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    GW_TRY(auto loaded, desk::load_visit(*store, id));
    return standing_json(app, std::move(loaded), book);
}

Result<Json> judged(App const& app, std::string const& id) {
    GW_TRY(auto const made, app.judged->of(id));
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    auto const& state = made->loaded.state;
    auto const whole = visit::visit_json({state,
                                          made->made.findings,
                                          made->ledger,
                                          made->made.warnings,
                                          app.now(),
                                          made->signatures});
    return Json{{"visit", state.visit},
                {"last_entry", state.last},
                {"findings", whole["findings"]},
                {"ledger", whole["ledger"]},
                {"may_sign", whole["may_sign"]},
                {"signatures", whole["signatures"]},
                {"warnings", whole["warnings"]},
                {"line", desk::visit_line_json(state, made->made, *store)}};
}

// Whether they are ready, at once; what is not is begun, and told as an event.
Result<Json> judging(App const& app, std::string const& id) {
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    GW_TRY(auto const line, store->visit(id));
    if (!line)
        return fail(
            Errc::not_found, "There is no such visit.", "visit", "take one that the list names");
    auto const to = app.judged->judged_to(id);
    if (to != line->last) app.judged->foresee(id);
    return Json{
        {"visit", id}, {"last_entry", line->last}, {"judged_to", to ? Json(*to) : Json(nullptr)}};
}

// What the findings on the factors are made of, for each state of the analyser that was judged.
Result<Json> factors(App const& app, std::string const& id) {
    GW_TRY(auto const made, app.judged->of(id));
    Json pictures = Json::array();
    for (auto const& [basis, state] : made->made.judged) {
        auto picture = visit::factor_picture_json(state.proof.factors);
        picture["basis"] = basis;
        if (!picture["sets"].empty()) pictures.push_back(std::move(picture));
    }
    return Json{{"visit", made->loaded.state.visit},
                {"last_entry", made->loaded.state.last},
                {"pictures", std::move(pictures)}};
}

Result<Json> settling(App const& app, std::string const& id) {
    GW_TRY(auto const made, app.judged->of(id));
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    return desk::visit_settling_json(made->loaded.state, made->made, *store);
}

Result<Json> run(App const& app, std::string const& id, std::string const& entry) {
    std::int64_t number = 0;
    auto const [end, fault] = std::from_chars(entry.data(), entry.data() + entry.size(), number);
    if (fault != std::errc{} || end != entry.data() + entry.size())
        return fail(Errc::not_found, "This is no number of an entry.", "entry", "give one");
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    GW_TRY(auto const loaded, desk::load_visit(*store, id));
    return desk::kept_run(loaded.state, *store, number);
}

// By their first bytes alone: what a file calls itself is the sender's word.
std::string_view picture_type(std::string_view bytes) {
    if (bytes.substr(0, 8) == "\x89PNG\r\n\x1a\n") return "image/png";
    if (bytes.substr(0, 3) == "\xff\xd8\xff") return "image/jpeg";
    if (bytes.substr(0, 4) == "RIFF" && bytes.substr(8, 4) == "WEBP") return "image/webp";
    return {};
}

// What somebody handed in is data, whatever it says: a picture is shown as a picture, everything
// else is a download, and nothing of it may run.
Result<Response> evidence(App const& app, std::string const& id, std::string const& hash) {
    if (!visit::is_sha256(hash))
        return fail(Errc::not_found, "There is no such file.", "file", "take one of the visit");
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    GW_TRY(auto const loaded, desk::load_visit(*store, id));
    bool const named =
        std::any_of(loaded.entries.begin(), loaded.entries.end(), [&](visit::Entry const& entry) {
            return std::find(entry.evidence.begin(), entry.evidence.end(), hash) !=
                   entry.evidence.end();
        });
    if (!named)
        return fail(Errc::not_found, "There is no such file.", "file", "take one of the visit");
    GW_TRY(auto bytes, store->evidence(hash));
    auto const picture = picture_type(bytes);
    Response out;
    out.headers = {
        {"Content-Type", picture.empty() ? "application/octet-stream" : std::string(picture)},
        {"Content-Security-Policy", "default-src 'none'; sandbox"},
        {"Cache-Control", "private, max-age=31536000, immutable"}};
    if (picture.empty())
        out.headers.emplace_back("Content-Disposition",
                                 "attachment; filename=\"" + hash.substr(0, 12) + ".bin\"");
    out.body = std::move(bytes);
    return out;
}

}  // namespace

void add_visits(Routes& routes, App const& app) {
    routes.get("/api/v1/plans", [](Request const&) { return answered(plans()); });
    routes.get("/api/v1/visits", [&app](Request const&) { return answered(list(app)); });
    routes.get("/api/v1/visits/{id}", [&app](Request const& request) {
        return answered(show(app, request.params.at("id")));
    });
    routes.get("/api/v1/visits/{id}/judged", [&app](Request const& request) {
        return answered(judged(app, request.params.at("id")));
    });
    routes.get("/api/v1/visits/{id}/judging", [&app](Request const& request) {
        return answered(judging(app, request.params.at("id")));
    });
    routes.get("/api/v1/visits/{id}/factors", [&app](Request const& request) {
        return answered(factors(app, request.params.at("id")));
    });
    routes.get("/api/v1/visits/{id}/settling", [&app](Request const& request) {
        return answered(settling(app, request.params.at("id")));
    });
    routes.get("/api/v1/visits/{id}/runs/{entry}", [&app](Request const& request) {
        return answered(run(app, request.params.at("id"), request.params.at("entry")));
    });
    routes.get("/api/v1/visits/{id}/evidence/{hash}", [&app](Request const& request) {
        auto made = evidence(app, request.params.at("id"), request.params.at("hash"));
        return made ? *std::move(made) : problem(made.error());
    });
}

}  // namespace gw::serve
