// People and the roles that steps ask for: things of kind "person" in the own record.
#include <nlohmann/json.hpp>

#include "desk/thing.hpp"
#include "serve/api/acts.hpp"

namespace gw::serve {

namespace {

Json roles_of(std::string const& body) {
    Json out = Json::array();
    auto const known = parse_json(body, "person");
    if (!known) return out;
    auto const roles = known->root().find("roles");
    if (!roles) return out;
    if (roles->is_text()) out.push_back(roles->raw());
    if (auto const list = roles->items())
        for (auto const& role : *list)
            if (role.is_text()) out.push_back(role.raw());
    return out;
}

Result<Json> people(App const& app) {
    Json out = Json::array();
    for (auto const book : {Book::own, Book::invented}) {
        GW_TRY(auto const store, app.books->read(book));
        GW_TRY(auto const things, store->things("person"));
        for (auto const& line : things)
            out.push_back(Json{{"name", line.id},
                               {"roles", roles_of(line.body)},
                               {"invented", book == Book::invented}});
    }
    return Json{{"people", std::move(out)}};
}

Result<Json> add_person(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said, Said::of(body, {"name", "roles"}));
    GW_TRY(auto const name, said.root().text("name"));
    GW_TRY(auto const list, said.root().at("roles"));
    GW_TRY(auto const items, list.items());
    Json roles = Json::array();
    for (auto const& item : items) {
        GW_TRY(auto role, item.text());
        roles.push_back(std::move(role));
    }
    GW_TRY(auto const act, act_of(app, said));
    GW_TRY([[maybe_unused]] auto const subject, visit::thing_subject("person", name));
    {
        GW_TRY(auto const store, app.books->write(Book::own));
        GW_CHECK(desk::add_thing(*store, {"person", name, {"roles=" + roles.dump()}, ""}, act));
    }
    app.books->look();
    return people(app);
}

}  // namespace

void add_people(Routes& routes, App const& app) {
    routes.get("/api/v1/people", [&app](Request const&) { return answered(people(app)); });
    routes.post("/api/v1/people",
                [&app](Request const& request) { return answered(add_person(app, request)); });
}

}  // namespace gw::serve
