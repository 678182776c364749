#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/prove.hpp"
#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

// "report:17" is line 17; a field of JSON keeps its name.
Json fault_json(Error const& error) {
    Json line = nullptr;
    if (auto const colon = error.where.find(':'); colon != std::string::npos)
        if (auto const number = parse_number(error.where.substr(colon + 1)))
            line = static_cast<std::int64_t>(*number);
    return Json{{"line", line}, {"where", error.where}, {"what", error.what}, {"mend", error.mend}};
}

Result<Json> look(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    auto const root = body.root();
    desk::LookTexts texts;
    GW_TRY(texts.report, root.text("report"));
    GW_TRY(auto const cylinder, root.text_or("cylinder", ""));
    if (!cylinder.empty()) texts.cylinder = cylinder;
    GW_TRY(texts.criteria, root.text_or("criteria", texts.criteria));
    texts.on = date_of(app.now());
    GW_TRY(auto const on, root.text_or("on", ""));
    if (!on.empty()) {
        GW_TRY(texts.on, parse_date(on, "on"));
    }
    auto const answer = desk::look_at(texts);
    Json faults = Json::array();
    if (!answer) {
        // Rows that cannot be read are an answer too: all of them, so that they are mended at once.
        if (answer.error().where.rfind("report", 0) == 0)
            for (auto const& fault : desk::report_faults(texts.report))
                faults.push_back(fault_json(fault));
        if (faults.empty()) return pass_on(answer.error());
        return Json{{"look", nullptr}, {"faults", std::move(faults)}};
    }
    auto told = visit::look_json(*answer);
    told["heading"] = answer->heading;
    return Json{{"look", std::move(told)}, {"faults", std::move(faults)}};
}

}  // namespace

void add_look(Routes& routes, App const& app) {
    routes.post("/api/v1/look",
                [&app](Request const& request) { return answered(look(app, request)); },
                Effect::reads,
                {1UL << 20});
}

}  // namespace gw::serve
