#pragma once
/// The table of what is served: a pattern, what answers it, and what it does.
#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "serve/http.hpp"

namespace gw::serve {

/// The guard acts on this alone.
enum class Effect {
    shows,          ///< the page itself: open to whoever may reach the port
    opens_session,  ///< takes the ticket: no session yet
    reads,          ///< needs the session
    writes,         ///< needs the session and an Origin
};

/// What a route may cost.
struct Takes {
    std::size_t longest_body = 64UL * 1024;  ///< bytes; more is refused before it is read
    bool at_once = false;  ///< answered on the thread that hears: waits for nothing
};
/// A file from a person's disk: traces, photographs, bundles. The longest trace that is met, an
/// hour of four detectors at 200 a second, is 35 MB as text with six decimals.
inline constexpr std::size_t longest_file = 40UL * 1024 * 1024;  // bytes
/// A foreign table that is turned into a trace by picked columns: it is sent back whole.
inline constexpr std::size_t longest_picked = 12UL * 1024 * 1024;  // bytes
/// A bundle, packed and unpacked: an exchange with 36 runs has 2 MB and 8 MB.
inline constexpr std::size_t longest_bundle = 20UL * 1024 * 1024;    // bytes
inline constexpr std::size_t longest_unpacked = 40UL * 1024 * 1024;  // bytes
/// Results of `assay replay`: a year of runs with eleven components is 43 MB.
inline constexpr std::size_t longest_history = 64UL * 1024 * 1024;  // bytes
/// Of whoever has no session yet: a ticket.
inline constexpr std::size_t longest_stranger = 16UL * 1024;  // bytes

using Handler = std::function<Response(Request const&)>;

class Routes {
  public:
    /// "/api/v1/runs/{id}": a part in braces stands for any one part of the path. Also answers
    /// HEAD.
    void get(std::string_view pattern,
             Handler handler,
             Effect effect = Effect::reads,
             Takes takes = {});
    void post(std::string_view pattern,
              Handler handler,
              Effect effect = Effect::writes,
              Takes takes = {});

    struct Route {
        Method method{};
        std::vector<std::string> pattern;
        Handler handler;
        Effect effect{};
        Takes takes;
    };
    struct Found {
        Route const* route = nullptr;  ///< none: nothing of that path and method
        bool path_known = false;       ///< the path exists under another method
    };
    /// Fills request.params.
    Found find(Request& request) const;

  private:
    void add(Method method, std::string_view pattern, Handler handler, Effect effect, Takes takes);
    std::vector<Route> routes_;
};

}  // namespace gw::serve
