#pragma once
/// What handlers share in reading a call.
#include <optional>
#include <string>

#include "base/json.hpp"
#include "serve/http.hpp"

namespace gw::serve {

/// The body as JSON: an object, sent as such.
Result<Document> json_body(Request const& request);

/// A value of the query; none when it is absent or empty.
std::optional<std::string> asked(Request const& request, std::string const& name);

/// The same for an answer that may be refused.
template <class T, class Made>
Response answered(Result<T> const& made, Made const& shown) {
    return made ? json(shown(*made)) : problem(made.error());
}
inline Response answered(Result<Json> const& made) {
    return made ? json(*made) : problem(made.error());
}

}  // namespace gw::serve
