#include "serve/api/acts.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "visit/visit_output.hpp"

namespace gw::serve {

Result<Said> Said::of(Document const& document, std::vector<std::string_view> fields) {
    constexpr std::array<std::string_view, 3> acting = {"by", "at", "seen"};
    fields.insert(fields.end(), acting.begin(), acting.end());
    Said said(document.root());
    GW_TRY(auto const members, said.root_.members());
    for (auto const& [name, value] : members)
        if (std::find(fields.begin(), fields.end(), name) == fields.end())
            return value.wrong("Nothing of this name is taken here.", "leave it out");
    return said;
}

Result<std::string> Said::text(std::string_view name) const { return root_.text_or(name, ""); }

Result<std::optional<std::string>> Said::optional_text(std::string_view name) const {
    auto const field = root_.find(name);
    if (!field) return std::optional<std::string>();
    GW_TRY(auto text, field->text());
    return std::optional(std::move(text));
}

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

Instant clock_in(App const& app, Book book, std::vector<visit::Entry> const& entries) {
    if (book == Book::own || entries.empty()) return app.now();
    auto const last = parse_instant(entries.back().recorded, "recorded");
    return last ? *last : app.now();
}

Json standing_json(App const& app, desk::LoadedVisit loaded, Book book) {
    auto const now = clock_in(app, book, loaded.entries);
    Json ways = Json::array();
    for (auto const& way : loaded.state.plan->ways_back)
        ways.push_back(
            Json{{"name", way.name}, {"title", way.title}, {"establishes", way.establishes}});
    auto const because = loaded.state.interrupted_because;
    auto out = visit::visit_json({std::move(loaded.state), {}, {}, {}, now, {}});
    for (auto const* later : {"findings", "ledger", "may_sign", "signatures", "warnings"})
        out.erase(later);
    out["ways_offered"] = std::move(ways);
    out["interrupted_because"] = because.empty() ? Json(nullptr) : Json(because);
    out["invented"] = book == Book::invented;
    out["clock"] = to_text(now);
    return out;
}

namespace {

// What came between, for the one who must now look at it.
Json between(std::vector<visit::Entry> const& entries, std::int64_t seen) {
    Json out = Json::array();
    for (auto const& entry : entries) {
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

Response refused(Error const& error,
                 store::Store const* store,
                 std::string const& id,
                 std::int64_t seen) {
    if (error.code != Errc::conflict || error.where != "seen" || store == nullptr)
        return problem(error);
    auto const loaded = desk::load_visit(*store, id);
    return problem(Problem{409,
                           "grown",
                           error.what,
                           error.where,
                           error.mend,
                           {{"between", loaded ? between(loaded->entries, seen) : Json::array()}}});
}

}  // namespace

Response recorded(App const& app,
                  std::string const& id,
                  Result<visit::Act> const& given,
                  Do const& act_on) {
    if (!given) return problem(given.error());
    auto const book = app.books->book_of_visit(id);
    if (!book) return problem(book.error());
    // A record that is not there holds no visit: it is not made for one that was mistyped.
    auto const store = app.books->exists(*book) ? app.books->write(*book) : app.books->read(*book);
    if (!store) return problem(store.error());
    auto act = *given;
    if (*book == Book::invented) {
        auto const loaded = desk::load_visit(**store, id);
        if (loaded) act.now = clock_in(app, *book, loaded->entries);
    }
    auto const done = act_on(**store, id, act);
    if (!done) return refused(done.error(), store->operator->(), id, act.seen.value_or(0));
    auto what = desk::recorded_json(*done);
    auto loaded = desk::load_visit(**store, id);
    if (!loaded) return problem(loaded.error());
    app.judged->foresee(loaded->state.visit);  // made while the answer travels
    app.books->look();
    return json(Json{{"recorded", std::move(what)},
                     {"visit", standing_json(app, *std::move(loaded), *book)}});
}

}  // namespace gw::serve
