#include "serve/api/body.hpp"

namespace gw::serve {

Result<Document> json_body(Request const& request) {
    auto const type = request.header("content-type");
    if (type.substr(0, type.find(';')) != "application/json")
        return fail(
            Errc::bad_input, "The body must be JSON.", "Content-Type", "send application/json");
    GW_TRY(auto document, parse_json(request.body, "body"));
    if (!document.root().is_object())
        return fail(Errc::bad_input, "The body must be a JSON object.", "body", "send one");
    return document;
}

std::optional<std::string> asked(Request const& request, std::string const& name) {
    auto const found = request.query.find(name);
    if (found == request.query.end() || found->second.empty()) return std::nullopt;
    return found->second;
}

}  // namespace gw::serve
