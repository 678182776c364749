#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/hash.hpp"
#include "desk/trace_draw.hpp"
#include "report/output.hpp"
#include "serve/api/query.hpp"
#include "serve/page.hpp"
#include "trace/trace_file.hpp"

namespace gw::serve {

namespace {

using Held = std::shared_ptr<desk::TraceView const>;

Result<Held> kept(App const& app,
                  std::string_view bytes,
                  std::string const& name,
                  std::optional<double> rate_hz,
                  std::string const& method) {
    app.shelves->traces.make_room(bytes.size());
    GW_TRY(auto view, desk::trace_view(bytes, name, rate_hz, method));
    auto id = view.trace.hash;
    // The same trace under another method has other peaks.
    if (!method.empty()) id += "-" + sha256(method).substr(0, 16);
    auto const size = view.bytes();
    return app.shelves->traces.keep(id, std::move(view), size);
}

// Evidence of a visit is opened by its hash, whichever record holds it.
Result<std::string> kept_bytes(App const& app, std::string const& sha) {
    for (auto const book : {Book::own, Book::invented}) {
        GW_TRY(auto const store, app.books->read(book));
        if (auto bytes = store->evidence(sha)) return bytes;
    }
    return fail(Errc::not_found, "This trace is not open any more.", "trace", "open it again");
}

Result<Held> held(App const& app, Request const& request) {
    auto const& id = request.params.at("id");
    if (auto view = app.shelves->traces.find(id)) return view;
    // Under a method the name has a tail: what was let go is opened again without it.
    auto const sha = id.substr(0, 64);
    if (!visit::is_sha256(sha))
        return fail(Errc::not_found, "This trace is not open any more.", "trace", "open it again");
    GW_TRY(auto const bytes, kept_bytes(app, sha));
    return kept(app, bytes, sha.substr(0, 12), {}, "");
}

Json shown(desk::TraceView const& view, std::string const& method) {
    auto out = desk::trace_view_json(view);
    if (!method.empty()) out["id"] = view.trace.hash + "-" + sha256(method).substr(0, 16);
    return out;
}

Result<Json> open(App const& app, Request const& request) {
    std::optional<double> rate;
    if (asked(request, "rate_hz")) {
        GW_TRY(rate, asked_number(request, "rate_hz", 0));
    }
    GW_TRY(auto const view,
           kept(app, request.content(), asked(request, "name").value_or("trace"), rate, ""));
    return shown(*view, "");
}

Result<Json> look_again(App const& app, Request const& request) {
    GW_TRY(auto const view, held(app, request));
    return shown(*view, "");
}

Result<Json> named(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const method, body.root().text("method"));
    GW_TRY(auto const plain, held(app, request));
    GW_TRY(auto view, desk::trace_view_under(*plain, method));
    auto const size = view.bytes();
    auto const id = view.trace.hash + "-" + sha256(method).substr(0, 16);
    return shown(*app.shelves->traces.keep(id, std::move(view), size), method);
}

Result<std::string> stretch(App const& app, Request const& request) {
    GW_TRY(auto const view, held(app, request));
    desk::Stretch wanted;
    GW_TRY(double const detector, asked_number(request, "detector", 1));
    wanted.detector = detector >= 1 && detector < 1e6 ? static_cast<int>(detector) : 0;
    GW_TRY(wanted.from_s, asked_number(request, "from", view->trace.start_s));
    GW_TRY(wanted.to_s, asked_number(request, "to", view->trace.end_s()));
    GW_TRY(double const most, asked_number(request, "most", 4000));
    wanted.most = most > 4 && most < 1e6 ? static_cast<std::size_t>(most) : 4;
    return desk::stretch_bytes(*view, wanted);
}

struct Asked {
    desk::HandRequest hand;
    std::string reason, by;
};
Result<Asked> hand_of(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    auto const root = body.root();
    Asked out;
    GW_TRY(double const detector, root.number_or("detector", 1));
    out.hand.detector = detector >= 1 && detector < 1e6 ? static_cast<int>(detector) : 0;
    GW_TRY(out.hand.ends.start_s, root.number("start_s"));
    GW_TRY(out.hand.ends.end_s, root.number("end_s"));
    GW_TRY(out.hand.ends.base_start, root.optional_number("base_start"));
    GW_TRY(out.hand.ends.base_end, root.optional_number("base_end"));
    GW_TRY(out.hand.component, root.text_or("component", ""));
    GW_TRY(out.reason, root.text_or("reason", ""));
    GW_TRY(out.by, root.text_or("by", app.user));
    return out;
}

Result<Json> hand(App const& app, Request const& request) {
    GW_TRY(auto const view, held(app, request));
    GW_TRY(auto const asked, hand_of(app, request));
    return desk::hand_peak_json(*view, asked.hand);
}

Result<Json> sheet(App const& app, Request const& request) {
    GW_TRY(auto const view, held(app, request));
    GW_TRY(auto const asked, hand_of(app, request));
    GW_TRY(auto const decision,
           desk::hand_decision(*view, asked.hand, asked.reason, asked.by, app.now()));
    return Json{{"name", "peak_by_hand.json"}, {"text", to_text(decision)}};
}

Response exported(App const& app, Request const& request) {
    auto const view = held(app, request);
    if (!view) return problem(view.error());
    auto const format = asked(request, "format").value_or("csv");
    Response out;
    if (format == "csv")
        out = bytes_answer(trace::trace_csv((*view)->trace), "text/csv; charset=utf-8");
    else if (format == "svg")
        out = sent(desk::trace_picture(**view, format), "image/svg+xml");
    else if (format == "png")
        out = sent(desk::trace_picture(**view, format), "image/png");
    else
        return problem(Error{Errc::bad_input,
                             "There is no such form of a trace.",
                             "format",
                             "ask for csv, svg or png"});
    // Taken away, never shown as a page of ours.
    out.headers.emplace_back("Content-Disposition", "attachment");
    return out;
}

}  // namespace

void add_traces(Routes& routes, App const& app) {
    routes.post("/api/v1/traces",
                [&app](Request const& request) { return answered(open(app, request)); },
                Effect::reads,
                {longest_file});
    routes.get("/api/v1/traces/{id}",
               [&app](Request const& request) { return answered(look_again(app, request)); });
    routes.get("/api/v1/traces/{id}/stretch", [&app](Request const& request) {
        return sent(stretch(app, request), "application/octet-stream");
    });
    routes.get("/api/v1/traces/{id}/export",
               [&app](Request const& request) { return exported(app, request); });
    routes.post("/api/v1/traces/{id}/names",
                [&app](Request const& request) { return answered(named(app, request)); },
                Effect::reads,
                {1UL << 20});
    routes.post(
        "/api/v1/traces/{id}/hand",
        [&app](Request const& request) { return answered(hand(app, request)); },
        Effect::reads);
    routes.post(
        "/api/v1/traces/{id}/hand/sheet",
        [&app](Request const& request) { return answered(sheet(app, request)); },
        Effect::reads);
}

}  // namespace gw::serve
