// Signing a visit, and what it leaves behind: the handover to read, the bundle to give away.
#include <openssl/sha.h>

#include <array>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "desk/bundle.hpp"
#include "desk/visit_handover.hpp"
#include "report/document.hpp"
#include "serve/api/acts.hpp"

namespace gw::serve {

namespace {

Json key_json(KeptKey const& kept) {
    return Json{{"fingerprint", desk::fingerprint(kept.file.public_key)},
                {"name", kept.file.name},
                {"created", kept.file.created},
                {"passphrase", kept.file.has_passphrase},
                {"file", kept.path}};
}

Result<Json> list_keys(App const& app) {
    Json out = Json::array();
    for (auto const& kept : app.keys->keys()) out.push_back(key_json(kept));
    return Json{{"keys", std::move(out)}};
}

Result<desk::Secret> passphrase_of(Said const& said) {
    GW_TRY(auto text, said.text("passphrase"));
    return desk::Secret(std::move(text));
}

Result<Json> make_key(App const& app, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said, Said::of(body, {"name", "passphrase"}));
    GW_TRY(auto const name, said.root().text("name"));
    GW_TRY(auto const passphrase, passphrase_of(said));
    GW_TRY(auto const kept, app.keys->make(name, passphrase, app.now(), app.key_cost));
    return key_json(kept);
}

Result<Json> sign(App const& app, std::string const& id, Request const& request) {
    GW_TRY(auto const body, json_body(request));
    GW_TRY(auto const said, Said::of(body, {"key", "passphrase", "as", "reservations"}));
    GW_TRY(auto const as, said.root().text("as"));
    auto const statement = visit::find_statement(as);
    if (!statement)
        return fail(Errc::bad_input,
                    "Nothing is signed under that name.",
                    "as",
                    "choose work, conformity, witness or review");
    desk::SignRequest what{*statement, {}};
    if (auto const list = said.root().find("reservations")) {
        GW_TRY(auto const items, list->items());
        for (auto const& item : items) {
            GW_TRY(auto text, item.text());
            if (!trimmed(text).empty()) what.reservations.push_back(std::move(text));
        }
    }
    GW_TRY(auto const act, act_of(app, said));
    GW_TRY(auto const fingerprint, said.root().text("key"));
    GW_TRY(auto const book, app.books->book_of_visit(id));
    Json out;
    {
        GW_TRY(auto const store, app.books->read(book));
        GW_TRY(auto const loaded, desk::load_visit(*store, id));
        // A signature is for what was seen, whoever recorded in between.
        if (act.seen && *act.seen != loaded.state.last)
            return fail(Errc::conflict,
                        "The record has grown since it was looked at.",
                        "seen",
                        "look at what was added, then sign");
        GW_TRY(auto const passphrase, passphrase_of(said));
        GW_TRY(auto const key, app.keys->opened(fingerprint, passphrase));
        GW_TRY(auto const done,
               desk::sign_visit(*store, id, what, key, clock_in(app, book, loaded.entries)));
        out = Json{{"visit", done.visit}, {"signature", visit::signature_json(done.signature)}};
    }
    app.books->look();
    return out;
}

Result<report::Document> document_of(App const& app, std::string const& id) {
    GW_TRY(auto const judged, app.judged->of(id));
    GW_TRY(auto const book, app.books->book_of_visit(id));
    GW_TRY(auto const store, app.books->read(book));
    auto const& state = judged->loaded.state;
    return desk::visit_handover(*store,
                                {state,
                                 judged->made.findings,
                                 judged->ledger,
                                 judged->made.warnings,
                                 clock_in(app, book, judged->loaded.entries),
                                 judged->signatures},
                                "gaswright " + app.version);
}

Response file(std::string bytes, char const* type, std::string const& name, bool inlined) {
    Response out;
    out.headers = {{"Content-Type", type},
                   {"Cache-Control", "no-store"},
                   {"Content-Disposition",
                    (inlined ? "inline; filename=\"" : "attachment; filename=\"") + name + "\""}};
    out.body = std::move(bytes);
    return out;
}

// The one style sheet inside the page, by its hash: nothing else of that kind may work.
std::string style_policy(std::string const& html) {
    auto const begin = html.find("<style>"), end = html.find("</style>");
    std::string hash;
    if (begin != html.npos && end != html.npos) {
        auto const style = std::string_view(html).substr(begin + 7, end - begin - 7);
        std::array<unsigned char, SHA256_DIGEST_LENGTH> sum{};
        SHA256(reinterpret_cast<unsigned char const*>(style.data()), style.size(), sum.data());
        constexpr std::string_view digits =
            "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
        for (std::size_t i = 0; i < sum.size(); i += 3) {
            auto const at = [&](std::size_t k) -> unsigned {
                return i + k < sum.size() ? sum[i + k] : 0U;
            };
            unsigned const word = at(0) << 16U | at(1) << 8U | at(2);
            hash += digits[word >> 18U & 63U];
            hash += digits[word >> 12U & 63U];
            hash += i + 1 < sum.size() ? digits[word >> 6U & 63U] : '=';
            hash += i + 2 < sum.size() ? digits[word & 63U] : '=';
        }
    }
    return "default-src 'none'; img-src data:; style-src 'sha256-" + hash +
           "'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

Response handover_html(App const& app, Request const& request) {
    auto const& id = request.params.at("id");
    auto const document = document_of(app, id);
    if (!document) return problem(document.error());
    auto const html = report::document_html(*document);
    if (!html) return problem(html.error());
    bool const keep = asked(request, "keep").has_value();
    auto out = file(*html, "text/html; charset=utf-8", "handover.html", !keep);
    out.headers.emplace_back("Content-Security-Policy", style_policy(*html));
    return out;
}

Response handover_pdf(App const& app, Request const& request) {
    auto const document = document_of(app, request.params.at("id"));
    if (!document) return problem(document.error());
    bool const letter = asked(request, "paper").value_or("a4") == "letter";
    auto pdf = report::document_pdf(*document, letter ? report::Paper::letter : report::Paper::a4);
    if (!pdf) return problem(pdf.error());
    return file(*std::move(pdf), "application/pdf", "handover.pdf", true);
}

Response bundle(App const& app, Request const& request) {
    auto const made = [&]() -> Result<desk::Exported> {
        auto const& id = request.params.at("id");
        GW_TRY(auto const body, json_body(request));
        GW_TRY(auto const said, Said::of(body, {"key", "passphrase"}));
        GW_TRY(auto const fingerprint, said.text("key"));
        GW_TRY(auto const passphrase, passphrase_of(said));
        std::optional<desk::SigningKey> key;
        if (!fingerprint.empty()) {
            GW_TRY(key, app.keys->opened(fingerprint, passphrase));
        }
        GW_TRY(auto const book, app.books->book_of_visit(id));
        GW_TRY(auto const store, app.books->read(book));
        desk::ExportRequest what;
        what.visit = id;
        what.program = "gaswright " + app.version;
        what.key = key ? &*key : nullptr;
        return desk::export_visit(*store, what);
    }();
    if (!made) return problem(made.error());
    return file(made->bytes, "application/zip", "visit.zip", false);
}

// A bundle that somebody sent: looked at, and kept when it is asked to be kept.
Result<Json> take_bundle(App const& app, Request const& request) {
    ZipLimits limits;
    limits.total_bytes = longest_unpacked;
    auto const checked = desk::check_bundle(
        request.content(), asked(request, "name").value_or("bundle"), {}, limits);
    auto out = desk::checked_bundle_json(checked);
    out["imported"] = nullptr;
    if (asked(request, "keep") && checked.intact()) {
        GW_TRY(auto const act, act_of(app, asked(request, "by").value_or(""), "", std::nullopt));
        {
            GW_TRY(auto const store, app.books->write(Book::own));
            GW_TRY(auto const imported, desk::import_bundle(*store, checked, act));
            out["imported"] = desk::imported_json(imported);
        }
        app.books->look();
    }
    return out;
}

}  // namespace

void add_sign(Routes& routes, App const& app) {
    routes.get("/api/v1/keys", [&app](Request const&) { return answered(list_keys(app)); });
    routes.post("/api/v1/keys",
                [&app](Request const& request) { return answered(make_key(app, request)); });
    routes.post("/api/v1/visits/{id}/sign", [&app](Request const& request) {
        return answered(sign(app, request.params.at("id"), request));
    });
    routes.get("/api/v1/visits/{id}/handover.html",
               [&app](Request const& request) { return handover_html(app, request); });
    routes.get("/api/v1/visits/{id}/handover.pdf",
               [&app](Request const& request) { return handover_pdf(app, request); });
    routes.post("/api/v1/visits/{id}/bundle",
                [&app](Request const& request) { return bundle(app, request); });
    routes.post("/api/v1/bundles",
                [&app](Request const& request) { return answered(take_bundle(app, request)); },
                Effect::writes,
                {.longest_body = longest_bundle});
}

}  // namespace gw::serve
