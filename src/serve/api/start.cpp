#include <nlohmann/json.hpp>

#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

namespace {

// What the page needs to know before its first view: is there a record, is a visit open.
Result<Json> start(App const& app) {
    Json open = Json::array();
    std::size_t visits = 0;
    for (auto const book : {Book::own, Book::invented}) {
        GW_TRY(auto const store, app.books->read(book));
        GW_TRY(auto const lines, store->visits({}));
        visits += lines.size();
        for (auto const& line : lines)
            if (line.state == "open" || line.state == "interrupted")
                open.push_back(Json{{"visit", line.visit},
                                    {"analyser", line.analyser},
                                    {"state", line.state},
                                    {"changed", line.changed},
                                    {"invented", book == Book::invented}});
    }
    return Json{{"version", app.version},
                {"user", app.user},
                {"record",
                 Json{{"file", app.books->file(Book::own)},
                      {"exists", app.books->exists(Book::own)},
                      {"visits", visits}}},
                {"open", std::move(open)}};
}

}  // namespace

void add_start(Routes& routes, App const& app) {
    routes.get("/api/v1/start", [&app](Request const&) { return answered(start(app)); });
}

}  // namespace gw::serve
