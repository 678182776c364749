#pragma once
/// What a handler sees of HTTP. Nothing here knows the library that carries it, so that a test
/// calls a handler without a socket.
#include <chrono>
#include <cstddef>
#include <functional>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"

namespace gw::serve {

enum class Method { get, head, post, other };

class Mapped;

struct Request {
    Method method = Method::get;
    std::string target;                                        ///< as it came on the request line
    std::vector<std::pair<std::string, std::string>> headers;  ///< names in lower case
    std::string body;
    std::shared_ptr<Mapped const> spooled;  ///< a body that is too long to hold; `body` is empty

    // Filled by Site before a handler is called.
    std::vector<std::string> segments;          ///< of the path, decoded: "/a/b" is {"a", "b"}
    std::map<std::string, std::string> query;   ///< decoded; the first of a doubled name
    std::map<std::string, std::string> params;  ///< what the braces of the route stood for

    /// The first header of that (lower case) name; empty when absent.
    [[nodiscard]] std::string_view header(std::string_view name) const;
    [[nodiscard]] std::size_t count(std::string_view name) const;
    [[nodiscard]] std::string path() const;  ///< of segments, leading slash
    /// What was sent, wherever it lies; valid while the request lives.
    [[nodiscard]] std::string_view content() const;
};

class EventHub;

/// A response that stays open: one event at once, what the hub tells, and a heartbeat when it tells
/// nothing, until either side closes.
struct EventStream {
    std::string hello;  ///< whole events, blank line at the end
    std::string beat;
    std::chrono::milliseconds every{15000};
    std::shared_ptr<EventHub> hub;  ///< none: heartbeats only
};

struct Response {
    int status = 200;
    std::vector<std::pair<std::string, std::string>> headers;
    std::string body;
    std::optional<EventStream> events;  ///< when set, `body` is not sent

    [[nodiscard]] std::string_view header(std::string_view name) const;  ///< any case
};

/// What the guard makes of a request: an answer at once, or work that takes its time and must not
/// keep others waiting. `later` is called once, on any thread.
struct Answer {
    Response now;
    std::function<Response()> later;  ///< empty: `now` is the answer
};

/// {"data": ..., "problem": null}, status 200.
Response json(Json data);

/// A refusal that no Errc names (no session, wrong host, wrong method).
struct Problem {
    int status{};
    std::string code;  ///< one word for programs
    std::string what, where, mend;
    std::map<std::string, Json> more;  ///< what this problem alone has to say
};
/// {"data": null, "problem": {"code", "what", "where", "mend"}}.
Response problem(Problem const& problem);
Response problem(Error const& error);

/// The HTTP status of an error: the one table.
int status_of(Errc code);

}  // namespace gw::serve
