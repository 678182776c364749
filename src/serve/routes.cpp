#include "serve/routes.hpp"

#include "base/text.hpp"

namespace gw::serve {

namespace {

bool is_param(std::string const& part) { return part.size() > 2 && part.front() == '{'; }

bool matches(std::vector<std::string> const& pattern, std::vector<std::string> const& path) {
    if (pattern.size() != path.size()) return false;
    for (std::size_t i = 0; i < path.size(); ++i)
        if (is_param(pattern[i]) ? path[i].empty() : pattern[i] != path[i]) return false;
    return true;
}

}  // namespace

void Routes::add(
    Method method, std::string_view pattern, Handler handler, Effect effect, Takes takes) {
    // The page itself and the way in wait for nothing.
    if (effect == Effect::shows || effect == Effect::opens_session) takes.at_once = true;
    Route route{method, {}, std::move(handler), effect, takes};
    if (pattern.size() > 1)
        for (auto const part : split(pattern.substr(1), '/')) route.pattern.emplace_back(part);
    routes_.push_back(std::move(route));
}

void Routes::get(std::string_view pattern, Handler handler, Effect effect, Takes takes) {
    add(Method::get, pattern, std::move(handler), effect, takes);
}

void Routes::post(std::string_view pattern, Handler handler, Effect effect, Takes takes) {
    add(Method::post, pattern, std::move(handler), effect, takes);
}

Routes::Found Routes::find(Request& request) const {
    auto const method = request.method == Method::head ? Method::get : request.method;
    Found found;
    for (auto const& route : routes_) {
        if (!matches(route.pattern, request.segments)) continue;
        found.path_known = true;
        if (route.method != method) continue;
        for (std::size_t i = 0; i < route.pattern.size(); ++i)
            if (is_param(route.pattern[i]))
                request.params[route.pattern[i].substr(1, route.pattern[i].size() - 2)] =
                    request.segments[i];
        found.route = &route;
        return found;
    }
    return found;
}

}  // namespace gw::serve
