#pragma once
/// Text of outside bytes without a copy, for files of many megabytes; small ones: decode_text()
/// (text.hpp).
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "base/result.hpp"

namespace gw {

/// UTF-8 text as decode_text() gives it; where there is nothing to decode it is the bytes
/// themselves, and lives as long as they do.
class DecodedText {
  public:
    explicit DecodedText(std::string_view same) : same_(same) {}
    explicit DecodedText(std::string own) : own_(std::move(own)) {}
    [[nodiscard]] std::string_view view() const { return own_ ? std::string_view(*own_) : same_; }
    /// The text to be changed in place; copied first where it is not our own.
    [[nodiscard]] std::string& own() {
        if (!own_) own_ = std::string(same_);
        return *own_;
    }

  private:
    std::string_view same_;
    std::optional<std::string> own_;
};
Result<DecodedText> decoded_text(std::string_view bytes, std::string const& source);

/// Whether a line of the text is longer than so many bytes.
bool has_line_over(std::string_view text, std::size_t bytes);

}  // namespace gw
