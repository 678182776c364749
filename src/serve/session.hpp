#pragma once
/// Who may call: the ticket that is printed once at the start, and the session it buys.
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace gw::serve {

class Sessions {
  public:
    using Draw = std::function<std::string()>;  ///< an unguessable word, another at every call
    explicit Sessions(Draw draw) : draw_(std::move(draw)), ticket_(draw_()) {}

    [[nodiscard]] std::string const& ticket() const { return ticket_; }
    /// A new session for the ticket; none for a wrong ticket and for one that was used.
    std::optional<std::string> exchange(std::string_view ticket);
    [[nodiscard]] bool knows(std::string_view session) const;

  private:
    Draw draw_;
    std::string ticket_;
    bool used_ = false;
    std::vector<std::string> open_;
};

/// 32 random bytes of the system's generator, as 64 hexadecimal digits.
std::string random_word();

}  // namespace gw::serve
