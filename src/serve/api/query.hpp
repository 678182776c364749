#pragma once
/// Numbers of a query, and answers that are not JSON.
#include <optional>
#include <string>

#include "base/text.hpp"
#include "serve/api/body.hpp"

namespace gw::serve {

/// A number of the query, or `otherwise`. Refuses what is there and no finite number.
inline Result<double> asked_number(Request const& request,
                                   std::string const& name,
                                   double otherwise) {
    auto const text = asked(request, name);
    if (!text) return otherwise;
    auto const number = parse_number(*text);
    if (!number)
        return fail(Errc::bad_input, "A number is needed here.", name, "write it with a point");
    return *number;
}

/// Bytes under their own type, not kept by the browser: the record is the one place they live in.
inline Response bytes_answer(std::string body, std::string type) {
    Response out;
    out.headers = {{"Content-Type", std::move(type)}, {"Cache-Control", "no-store"}};
    out.body = std::move(body);
    return out;
}
inline Response sent(Result<std::string> made, std::string const& type) {
    return made ? bytes_answer(*std::move(made), type) : problem(made.error());
}

}  // namespace gw::serve
