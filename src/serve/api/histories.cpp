#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "desk/analyser_history.hpp"
#include "desk/register_view.hpp"
#include "serve/api/query.hpp"
#include "serve/page.hpp"
#include "serve/spool.hpp"

namespace gw::serve {

namespace {

using Held = std::shared_ptr<HeldHistory const>;

Result<Held> held(App const& app, Request const& request) {
    if (auto history = app.shelves->histories.find(request.params.at("id"))) return history;
    return fail(Errc::not_found, "This history is not open any more.", "history", "open it again");
}

Json kept(App const& app, desk::History history) {
    auto const id = history.id;
    auto const bytes = history.bytes();
    HeldHistory made(std::move(history));
    return desk::history_json(app.shelves->histories.keep(id, std::move(made), bytes)->history);
}

Result<Json> open(App const& app, Request const& request) {
    app.shelves->histories.make_room(request.content().size());
    auto const let_go = [&request](std::size_t read) {
        if (request.spooled) request.spooled->let_go(read);
    };
    GW_TRY(
        auto history,
        desk::read_history(request.content(), asked(request, "name").value_or("series"), let_go));
    return kept(app, std::move(history));
}

Result<Book> asked_book(Request const& request) {
    auto const text = asked(request, "book").value_or("own");
    if (text == "own") return Book::own;
    if (text == "invented") return Book::invented;
    return fail(Errc::bad_input, "There is no such record.", "book", "ask for own or invented");
}

Result<Json> of_analyser(App const& app, Request const& request) {
    auto const analyser = asked(request, "analyser").value_or("");
    GW_TRY(auto const book, asked_book(request));
    GW_TRY(auto const store, app.books->read(book));
    // What was gathered holds until one of its visits grows.
    GW_TRY(auto const visits, store->visits({analyser, false, 0}));
    std::string state = fmt::format("{} {}", analyser, asked(request, "book").value_or("own"));
    for (auto const& line : visits) state += fmt::format(" {}:{}", line.visit, line.last);
    auto const id = sha256(state);
    if (auto const known = app.shelves->histories.find(id))
        return desk::history_json(known->history);
    GW_TRY(auto history, desk::analyser_history(*store, analyser));
    history.id = id;
    return kept(app, std::move(history));
}

Result<std::string> stretch(App const& app, Request const& request) {
    GW_TRY(auto const history, held(app, request));
    desk::HistoryStretch wanted;
    wanted.column = asked(request, "column").value_or("");
    GW_TRY(wanted.from_s, asked_number(request, "from", -1e300));
    GW_TRY(wanted.to_s, asked_number(request, "to", 1e300));
    GW_TRY(double const most, asked_number(request, "most", 4000));
    wanted.most = most > 4 && most < 1e6 ? static_cast<std::size_t>(most) : 4;
    return desk::history_block(history->history, wanted);
}

Result<Json> chart(App const& app, Request const& request) {
    GW_TRY(auto const history, held(app, request));
    return history->chart(asked(request, "column").value_or(""));
}

Result<Json> everything(App const& app, Request const& request) {
    GW_TRY(auto const book, asked_book(request));
    GW_TRY(double const within, asked_number(request, "within", 90));
    if (!(within >= 0 && within <= 36500))
        return fail(
            Errc::out_of_range, "So many days are not looked ahead.", "within", "give 0 to 36500");
    GW_TRY(auto const store, app.books->read(book));
    return desk::register_json(*store, date_of(app.now()), static_cast<std::int64_t>(within));
}

}  // namespace

void add_histories(Routes& routes, App const& app) {
    routes.post("/api/v1/histories",
                [&app](Request const& request) { return answered(open(app, request)); },
                Effect::reads,
                {longest_history});
    routes.get("/api/v1/history",
               [&app](Request const& request) { return answered(of_analyser(app, request)); });
    routes.get("/api/v1/histories/{id}/stretch", [&app](Request const& request) {
        return sent(stretch(app, request), "application/octet-stream");
    });
    routes.get("/api/v1/histories/{id}/chart",
               [&app](Request const& request) { return answered(chart(app, request)); });
    routes.get("/api/v1/register",
               [&app](Request const& request) { return answered(everything(app, request)); });
}

}  // namespace gw::serve
