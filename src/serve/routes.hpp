#pragma once
/// The table of what is served: a pattern, what answers it, and what it does.
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

using Handler = std::function<Response(Request const&)>;

class Routes {
  public:
    /// "/api/v1/runs/{id}": a part in braces stands for any one part of the path. Also answers
    /// HEAD.
    void get(std::string_view pattern, Handler handler, Effect effect = Effect::reads);
    void post(std::string_view pattern, Handler handler, Effect effect = Effect::writes);

    struct Route {
        Method method{};
        std::vector<std::string> pattern;
        Handler handler;
        Effect effect{};
    };
    struct Found {
        Route const* route = nullptr;  ///< none: nothing of that path and method
        bool path_known = false;       ///< the path exists under another method
    };
    /// Fills request.params.
    Found find(Request& request) const;

  private:
    void add(Method method, std::string_view pattern, Handler handler, Effect effect);
    std::vector<Route> routes_;
};

}  // namespace gw::serve
