#include "serve/site.hpp"

#include <fmt/format.h>

#include <exception>
#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "serve/target.hpp"

namespace gw::serve {

namespace {

constexpr auto only_ours =
    "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "object-src 'none'";

Response wrong_method() {
    auto out =
        problem(Problem{405, "method", "This address takes another method.", "method", "", {}});
    out.headers.emplace_back("Allow", "GET, HEAD, POST");
    return out;
}

std::string_view cookie(Request const& request, std::string_view name) {
    for (auto const& [key, value] : request.headers) {
        if (key != "cookie") continue;
        for (auto const part : split(value, ';')) {
            auto const pair = trimmed(part);
            auto const equals = pair.find('=');
            if (equals != pair.npos && pair.substr(0, equals) == name)
                return pair.substr(equals + 1);
        }
    }
    return {};
}

}  // namespace

std::string cookie_name(std::uint16_t port) { return fmt::format("gaswright_{}", port); }

std::string set_cookie(std::uint16_t port, std::string_view session) {
    return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict", cookie_name(port), session);
}

Site::Site(Routes routes, Sessions& sessions, std::uint16_t port)
    : routes_(std::move(routes)),
      sessions_(&sessions),
      host_(fmt::format("127.0.0.1:{}", port)),
      localhost_(fmt::format("localhost:{}", port)),
      cookie_(cookie_name(port)) {}

std::string Site::address() const {
    return fmt::format("http://{}/?ticket={}", host_, sessions_->ticket());
}

namespace {

void add_own_headers(Response& out) {
    for (auto const& [name, value] : {std::pair{"Content-Security-Policy", only_ours},
                                      std::pair{"Referrer-Policy", "no-referrer"},
                                      std::pair{"X-Content-Type-Options", "nosniff"},
                                      std::pair{"Cross-Origin-Opener-Policy", "same-origin"},
                                      std::pair{"Cross-Origin-Resource-Policy", "same-origin"}})
        if (out.header(name).empty()) out.headers.emplace_back(name, value);
}

// Memory, or a fault of ours: this call alone ends.
template <class Do>
Response kept_from_falling(Do const& act) {
    Response out;
    try {
        out = act();
    } catch (std::exception const& fault) {
        out = problem(
            Problem{500, "internal", "The program met a fault of its own.", fault.what(), "", {}});
    }
    add_own_headers(out);
    return out;
}

}  // namespace

Answer Site::consider(Request request) const {
    Answer answer;
    answer.now = kept_from_falling([&] {
        auto made = guarded(std::move(request));
        answer.later = std::move(made.later);
        return std::move(made.now);
    });
    if (!answer.later) return answer;
    return {{}, [work = std::move(answer.later)] { return kept_from_falling(work); }};
}

Response Site::answer(Request request) const {
    auto made = consider(std::move(request));
    return made.later ? made.later() : std::move(made.now);
}

std::size_t Site::longest_body(Request head) const {
    auto target = parse_target(head.target);
    if (!target || !sessions_->knows(cookie(head, cookie_))) return longest_stranger;
    head.segments = std::move(target->segments);
    auto const* route = routes_.find(head).route;
    return route == nullptr ? longest_stranger : route->takes.longest_body;
}

Answer Site::guarded(Request request) const {
    auto const refused = [](Problem const& why) { return Answer{problem(why), {}}; };
    // A name that resolves to this machine must not lend a foreign page our answers.
    if (request.count("host") > 1)
        return refused(Problem{400, "bad_input", "There is more than one Host.", "Host", "", {}});
    auto const host = request.header("host");
    if (host != host_ && host != localhost_)
        return refused(Problem{403,
                               "host",
                               "This host name is not the one that is served.",
                               "Host",
                               "open the address that was printed",
                               {}});
    auto const origin = request.header("origin");
    bool const foreign_origin =
        request.count("origin") > 0 && origin != fmt::format("http://{}", host);
    if (foreign_origin || request.count("origin") > 1)
        return refused(
            Problem{403, "origin", "Another site may not call this one.", "Origin", "", {}});
    if (request.method == Method::other) return {wrong_method(), {}};
    auto target = parse_target(request.target);
    if (!target) return {problem(target.error()), {}};
    request.segments = std::move(target->segments);
    request.query = std::move(target->query);

    auto const found = routes_.find(request);
    bool const api = !request.segments.empty() && request.segments.front() == "api";
    // An address under /api/ that does not exist is guarded as one that does: it tells nothing.
    auto const effect = found.route != nullptr ? found.route->effect
                        : api                  ? Effect::reads
                                               : Effect::shows;
    if (effect != Effect::shows && request.header("sec-fetch-site") == "cross-site")
        return refused(Problem{
            403, "origin", "Another site may not call this one.", "Sec-Fetch-Site", "", {}});
    bool const needs_session = effect == Effect::reads || effect == Effect::writes;
    if (needs_session && !sessions_->knows(cookie(request, cookie_)))
        return refused(Problem{401,
                               "session",
                               "There is no session.",
                               "Cookie",
                               "open the address that the program printed when it started",
                               {}});
    if (effect == Effect::writes && origin.empty())
        return refused(Problem{403, "origin", "A change needs its Origin.", "Origin", "", {}});
    if (found.route != nullptr) {
        auto const& handler = found.route->handler;
        if (found.route->takes.at_once) return {handler(request), {}};
        return {{}, [&handler, request = std::move(request)] { return handler(request); }};
    }
    if (found.path_known) return {wrong_method(), {}};
    return refused(
        Problem{404, "not_found", "There is nothing at this address.", "address", "", {}});
}

}  // namespace gw::serve
