#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/sum_page.hpp"
#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

struct Asked {
    Document body;
    Json inputs, show;
};
Result<Asked> inputs_of(Request const& request) {
    GW_TRY(auto body, json_body(request));
    Asked out{body, Json::object(), nullptr};
    GW_TRY(auto const inputs, body.root().at("inputs"));
    out.inputs = inputs.raw();
    if (auto const show = body.root().find("show")) out.show = show->raw();
    return out;
}

// A map of results has keys of each sum's own: as a list it can be described once for all.
Json listed(Json answer) {
    Json results = Json::array();
    for (auto const& [key, result] : answer["results"].items()) {
        Json row{{"key", key}};
        for (auto const& [name, value] : result.items()) row[name] = value;
        results.push_back(std::move(row));
    }
    return Json{{"sum", answer["sum"]},
                {"results", std::move(results)},
                {"findings", answer["findings"]},
                {"verdict", answer.value("verdict", Json(nullptr))},
                {"warnings", answer["warnings"]}};
}

Result<Json> work(Request const& request) {
    GW_TRY(auto const asked, inputs_of(request));
    GW_TRY(auto answer, desk::page_sum(request.params.at("name"), asked.inputs, asked.show));
    return listed(std::move(answer));
}

Result<Json> sheet(Request const& request) {
    GW_TRY(auto const asked, inputs_of(request));
    auto const& name = request.params.at("name");
    GW_TRY(auto kept, desk::kept_sum(name, asked.inputs, asked.show));
    return Json{{"name", fmt::format("sum_{}.json", name)},
                {"text", std::move(kept.file)},
                {"says", std::move(kept.says)}};
}

}  // namespace

void add_sums(Routes& routes, App const&) {
    routes.get("/api/v1/sums", [](Request const&) { return json(desk::sums_json()); });
    routes.post(
        "/api/v1/sums/{name}",
        [](Request const& request) { return answered(work(request)); },
        Effect::reads);
    routes.post(
        "/api/v1/sums/{name}/sheet",
        [](Request const& request) { return answered(sheet(request)); },
        Effect::reads);
}

}  // namespace gw::serve
