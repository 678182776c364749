#pragma once
/// What the world can get wrong comes back as a Result; what only a programmer can get wrong is an
/// assertion. Exceptions never cross a folder's border.
#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace gw {

enum class Errc {
    bad_input,     ///< the text, file or option is not what it should be
    out_of_range,  ///< well formed, but outside what can be answered
    not_found,     ///< a named thing does not exist
    conflict,      ///< two inputs contradict each other
    busy,          ///< somebody else holds it; try again
    io,            ///< file, device or network failure
};

/// One clear sentence of what is wrong; where (file:line, file:field or option); how to mend it.
struct Error {
    Errc code{};
    std::string what, where, mend;
};

template <class T = void>
class [[nodiscard]] Result : public tl::expected<T, Error> {
    using Base = tl::expected<T, Error>;

  public:
    using Base::Base;
    // NOLINTNEXTLINE(google-explicit-constructor): and_then chains convert back
    Result(Base base) : Base(std::move(base)) {}
};

inline tl::unexpected<Error> fail(Errc code,
                                  std::string what,
                                  std::string where = {},
                                  std::string mend = {}) {
    return tl::unexpected<Error>(Error{code, std::move(what), std::move(where), std::move(mend)});
}

inline tl::unexpected<Error> pass_on(Error error) {
    return tl::unexpected<Error>(std::move(error));
}

/// The one line of the contract: "WHERE: what is wrong; how to mend it".
std::string one_line(Error const& error);

/// The exit code of an error: 2 for bad usage or input, 3 for a file, device or network failure.
int exit_code(Errc code);

}  // namespace gw

#define GW_CONCAT_INNER(a, b) a##b
#define GW_CONCAT(a, b) GW_CONCAT_INNER(a, b)
// NOLINTBEGIN(bugprone-macro-parentheses): a declaration cannot stand in parentheses
#define GW_TRY_INNER(result, declaration, expression)             \
    auto result = (expression);                                   \
    if (!result) return ::gw::pass_on(std::move(result).error()); \
    declaration = *std::move(result)
// NOLINTEND(bugprone-macro-parentheses)
/// GW_TRY(auto const gas, read_gas(text)); binds the value or returns the error.
#define GW_TRY(declaration, ...) \
    GW_TRY_INNER(GW_CONCAT(gw_result_, __LINE__), declaration, (__VA_ARGS__))
/// GW_CHECK(require_schema(root)); the same for Result<>.
#define GW_CHECK(...)                                          \
    do {                                                       \
        if (auto gw_check = (__VA_ARGS__); !gw_check)          \
            return ::gw::pass_on(std::move(gw_check).error()); \
    } while (false)
