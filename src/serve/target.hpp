#pragma once
/// The request target (RFC 9112, 3.2.1) taken apart, with every trick refused.
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace gw::serve {

struct Target {
    std::vector<std::string> segments;  ///< decoded; none for "/"
    std::map<std::string, std::string> query;
};

/// Takes the origin form only: a leading slash, segments, a query. Refuses with bad_input: more
/// than 2048 bytes, bytes that are not visible ASCII, a backslash, an empty segment ("//"), "." and
/// ".." (written or encoded), in the path an encoded slash or backslash, a control character, a
/// percent sign without two digits. One trailing slash is kept as an empty last segment, which no
/// route has.
Result<Target> parse_target(std::string_view target);

}  // namespace gw::serve
