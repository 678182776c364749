#pragma once
/// Text as it stands in XML and HTML.
#include <string>
#include <string_view>

namespace gw::report {

/// Escaped for content and for attributes in double quotes; control characters other than the end
/// of a line are left out.
std::string markup(std::string_view text);

}  // namespace gw::report
