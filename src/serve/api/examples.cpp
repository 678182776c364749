#include "desk/examples.hpp"

#include <nlohmann/json.hpp>

#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

void add_examples(Routes& routes, App const&) {
    routes.get("/api/v1/examples", [](Request const&) {
        Json list = Json::array();
        for (auto const& e : desk::examples())
            list.push_back({{"name", e.name}, {"kind", e.kind}, {"title", e.title}});
        return json(Json{{"examples", std::move(list)}});
    });
    routes.get("/api/v1/examples/{name}", [](Request const& request) {
        auto const& name = request.params.at("name");
        return answered(desk::example_text(name), [&](std::string const& text) {
            return Json{{"name", name}, {"text", text}};
        });
    });
}

}  // namespace gw::serve
