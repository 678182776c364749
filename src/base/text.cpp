#include "base/text.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "base/decoded_text.hpp"

namespace gw {

namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

void append_utf8(std::string& out, char32_t c) {
    auto const byte = [&](unsigned value) { out.push_back(static_cast<char>(value)); };
    if (c < 0x80) {
        byte(c);
    } else if (c < 0x800) {
        byte(0xC0U | (c >> 6U));
        byte(0x80U | (c & 0x3FU));
    } else if (c < 0x10000) {
        byte(0xE0U | (c >> 12U));
        byte(0x80U | ((c >> 6U) & 0x3FU));
        byte(0x80U | (c & 0x3FU));
    } else {
        byte(0xF0U | (c >> 18U));
        byte(0x80U | ((c >> 12U) & 0x3FU));
        byte(0x80U | ((c >> 6U) & 0x3FU));
        byte(0x80U | (c & 0x3FU));
    }
}

bool is_utf8(std::string_view bytes) {
    for (std::size_t i = 0; i < bytes.size();) {
        auto const c = static_cast<unsigned char>(bytes[i]);
        std::size_t const length = c < 0x80          ? 1
                                   : (c >> 5U) == 6  ? 2
                                   : (c >> 4U) == 14 ? 3
                                   : (c >> 3U) == 30 ? 4
                                                     : 0;
        if (length == 0 || i + length > bytes.size()) return false;
        for (std::size_t k = 1; k < length; ++k)
            if ((static_cast<unsigned char>(bytes[i + k]) >> 6U) != 2) return false;
        i += length;
    }
    return true;
}

Result<std::string> from_utf16(std::string_view bytes, bool big_endian, std::string const& source) {
    if (bytes.size() % 2 != 0)
        return fail(Errc::bad_input,
                    "The UTF-16 text ends in the middle of a character.",
                    source,
                    "copy the whole file again");
    std::string out;
    out.reserve(bytes.size() / 2);
    auto const unit = [&](std::size_t i) {
        auto const a = static_cast<unsigned char>(bytes[i]),
                   b = static_cast<unsigned char>(bytes[i + 1]);
        return static_cast<char32_t>(big_endian ? (a << 8U) | b : (b << 8U) | a);
    };
    for (std::size_t i = 0; i < bytes.size(); i += 2) {
        char32_t c = unit(i);
        if (c >= 0xD800 && c < 0xDC00 && i + 2 < bytes.size()) {
            char32_t const low = unit(i + 2);
            if (low >= 0xDC00 && low < 0xE000) {
                c = 0x10000 + ((c - 0xD800) << 10U) + (low - 0xDC00);
                i += 2;
            }
        }
        append_utf8(out, c);
    }
    return out;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
    while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
    return text;
}

std::string lowered(std::string_view text) {
    std::string out(text);
    for (char& c : out)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return out;
}

bool starts_with_ignoring_case(std::string_view text, std::string_view prefix) {
    return text.size() >= prefix.size() &&
           lowered(text.substr(0, prefix.size())) == lowered(prefix);
}

std::vector<std::string_view> split(std::string_view text, char delimiter) {
    std::vector<std::string_view> parts;
    for (;;) {
        auto const at = text.find(delimiter);
        parts.push_back(text.substr(0, at));
        if (at == std::string_view::npos) return parts;
        text.remove_prefix(at + 1);
    }
}

std::string joined(std::vector<std::string> const& parts, std::string_view between) {
    std::string out;
    for (auto const& part : parts) {
        if (&part != parts.data()) out += between;
        out += part;
    }
    return out;
}

std::optional<double> parse_number(std::string_view text) {
    text = trimmed(text);
    if (!text.empty() && text.front() == '+') text.remove_prefix(1);
    if (text.empty() || text.front() == '+') return std::nullopt;
    double value{};
    auto const [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (problem != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

std::string shortest(double value) { return fmt::format("{}", value); }

std::string fixed(double value, int decimals) {
    auto text = fmt::format("{:.{}f}", value, decimals);
    if (text.size() > 1 && text[0] == '-' && text.find_first_not_of("-0.") == std::string::npos)
        text.erase(0, 1);
    return text;
}

Result<DecodedText> decoded_text(std::string_view bytes, std::string const& source) {
    auto const refuse_control_characters = [&](std::string_view text) -> Result<> {
        for (char const c : text) {
            auto const code = static_cast<unsigned char>(c);
            if (code < 0x20 && !is_blank(c) && c != '\f' && c != '\v')
                return fail(Errc::bad_input,
                            "This is a binary file, not text.",
                            source,
                            "give the exported text file");
        }
        return {};
    };
    bool const little = bytes.starts_with("\xFF\xFE");
    if (little || bytes.starts_with("\xFE\xFF")) {
        GW_TRY(auto text, from_utf16(bytes.substr(2), !little, source));
        GW_CHECK(refuse_control_characters(text));
        return DecodedText(std::move(text));
    }
    if (bytes.starts_with("\xEF\xBB\xBF")) bytes.remove_prefix(3);
    GW_CHECK(refuse_control_characters(bytes));
    if (is_utf8(bytes)) return DecodedText(bytes);
    std::string out;  // Latin-1: every byte is the code point of the same number
    out.reserve(bytes.size() + 16);
    for (char const c : bytes) append_utf8(out, static_cast<unsigned char>(c));
    return DecodedText(std::move(out));
}

Result<std::string> decode_text(std::string_view bytes, std::string const& source) {
    GW_TRY(auto text, decoded_text(bytes, source));
    return std::move(text.own());
}

bool has_line_over(std::string_view text, std::size_t bytes) {
    std::size_t from = 0;
    while (text.size() - from > bytes) {
        // The last end of line within reach: before it no line can be too long that began here.
        auto const end = text.substr(from, bytes + 1).find_last_of("\r\n");
        if (end == std::string_view::npos) return true;
        from += end + 1;
    }
    return false;
}

}  // namespace gw
