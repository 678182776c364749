// The pressure of a cylinder, read off a gauge and typed: beside its certificate in a visit, or
// with the cylinder itself.
#include <nlohmann/json.hpp>

#include "assay/cylinder.hpp"
#include "desk/cylinder_pressure.hpp"
#include "serve/api/acts.hpp"

namespace gw::serve {

namespace {

Result<desk::TypedPressure> typed_of(Said const& said) {
    desk::TypedPressure out;
    GW_TRY(out.value, said.root().number("value"));
    GW_TRY(out.unit, said.root().text("unit"));
    GW_TRY(out.ambient, said.root().optional_number("ambient"));
    GW_TRY(out.ambient_unit, said.root().text_or("ambient_unit", out.ambient_unit));
    GW_TRY(out.temperature_c, said.root().optional_number("temperature_c"));
    GW_TRY(out.with, said.text("with"));
    return out;
}

Response in_visit(App const& app, Request const& request) {
    auto const body = json_body(request);
    if (!body) return problem(body.error());
    desk::TypedPressure typed;
    std::string stage, step;
    auto const read = [&]() -> Result<visit::Act> {
        GW_TRY(auto const said,
               Said::of(*body,
                        {"stage",
                         "step",
                         "value",
                         "unit",
                         "ambient",
                         "ambient_unit",
                         "temperature_c",
                         "with"}));
        GW_TRY(stage, said.root().text("stage"));
        GW_TRY(step, said.root().text("step"));
        GW_TRY(typed, typed_of(said));
        return act_of(app, said);
    };
    return recorded(app,
                    request.params.at("id"),
                    read(),
                    [&](store::Store& store, std::string const& id, visit::Act const& act) {
                        return desk::put_pressure_in_visit(store, id, stage, step, typed, act);
                    });
}

Result<Json> of_thing(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said,
           Said::of(body, {"value", "unit", "ambient", "ambient_unit", "temperature_c", "with"}));
    GW_TRY(auto const typed, typed_of(said));
    GW_TRY(auto const act, act_of(app, said));
    auto const& serial = request.params.at("serial");
    GW_TRY(auto const book, app.books->book_of_thing("cylinder:" + serial));
    std::int64_t entry = 0;
    {
        GW_TRY(auto const store, app.books->write(book));
        GW_TRY(auto const line, desk::put_pressure(*store, serial, typed, act));
        entry = line.last;
    }
    app.books->look();
    return Json{{"serial", serial}, {"entry", entry}};
}

}  // namespace

void add_pressures(Routes& routes, App const& app) {
    routes.post("/api/v1/visits/{id}/pressure",
                [&app](Request const& request) { return in_visit(app, request); });
    routes.post("/api/v1/cylinders/{serial}/pressure",
                [&app](Request const& request) { return answered(of_thing(app, request)); });
}

}  // namespace gw::serve
