#include "serve/http.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "serve/spool.hpp"

namespace gw::serve {

namespace {

std::string_view word_of(Errc code) {
    switch (code) {
        case Errc::bad_input:
            return "bad_input";
        case Errc::out_of_range:
            return "out_of_range";
        case Errc::not_found:
            return "not_found";
        case Errc::conflict:
            return "conflict";
        case Errc::busy:
            return "busy";
        case Errc::io:
            return "io";
    }
    return "io";
}

Response enveloped(int status, Json data, Json problem) {
    Json const envelope{{"data", std::move(data)}, {"problem", std::move(problem)}};
    // A hostile name may hold bytes that are no text; they are replaced, never thrown over.
    auto body = envelope.dump(-1, ' ', false, Json::error_handler_t::replace);
    return {status,
            {{"Content-Type", "application/json"}, {"Cache-Control", "no-store"}},
            std::move(body),
            {}};
}

}  // namespace

std::string_view Request::header(std::string_view name) const {
    for (auto const& [key, value] : headers)
        if (key == name) return value;
    return {};
}

std::size_t Request::count(std::string_view name) const {
    return static_cast<std::size_t>(std::count_if(
        headers.begin(), headers.end(), [&](auto const& entry) { return entry.first == name; }));
}

std::string Request::path() const { return "/" + joined(segments, "/"); }

std::string_view Response::header(std::string_view name) const {
    for (auto const& [key, value] : headers)
        if (lowered(key) == lowered(name)) return value;
    return {};
}

int status_of(Errc code) {
    switch (code) {
        case Errc::bad_input:
            return 400;
        case Errc::out_of_range:
            return 422;
        case Errc::not_found:
            return 404;
        case Errc::conflict:
            return 409;
        case Errc::busy:
            return 503;
        case Errc::io:
            return 500;
    }
    return 500;
}

std::string_view Request::content() const { return spooled ? spooled->bytes() : body; }

Response json(Json data) { return enveloped(200, std::move(data), nullptr); }

Response problem(Problem const& p) {
    Json said{{"code", p.code}, {"what", p.what}, {"where", p.where}, {"mend", p.mend}};
    for (auto const& [name, value] : p.more) said[name] = value;
    return enveloped(p.status, nullptr, std::move(said));
}

Response problem(Error const& error) {
    return problem(Problem{status_of(error.code),
                           std::string(word_of(error.code)),
                           error.what,
                           error.where,
                           error.mend,
                           {}});
}

}  // namespace gw::serve
