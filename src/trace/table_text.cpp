#include "trace/table_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/text.hpp"

namespace gw::trace {

namespace {

constexpr std::size_t longest_key = 60;  // a longer one is a sentence with a colon in it

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\f' || c == '\v'; }

template <std::size_t N>
bool one_of(std::string_view text, std::array<std::string_view, N> const& words) {
    return std::ranges::find(words, text) != words.end();
}

char sign_of(Delimiter delimiter) {
    switch (delimiter) {
        case Delimiter::comma:
            return ',';
        case Delimiter::semicolon:
            return ';';
        case Delimiter::tab:
            return '\t';
        case Delimiter::blanks:
        case Delimiter::wide_blanks:
        case Delimiter::none:
            break;
    }
    return '\0';
}

/// Where the delimiter that starts at `at` ends; `at` itself when none starts there.
std::size_t delimiter_end(std::string_view line, std::size_t at, Delimiter delimiter) {
    if (delimiter == Delimiter::blanks || delimiter == Delimiter::wide_blanks) {
        std::size_t end = at;
        bool tab = false;
        for (; end < line.size() && is_blank(line[end]); ++end) tab = tab || line[end] == '\t';
        return delimiter == Delimiter::blanks || tab || end - at >= 2 ? end : at;
    }
    return delimiter != Delimiter::none && line[at] == sign_of(delimiter) ? at + 1 : at;
}

}  // namespace

bool LineReader::next(Line& line) {
    if (at_ >= text_.size()) return false;
    std::size_t end = at_;
    while (end < text_.size() && text_[end] != '\n' && text_[end] != '\r') ++end;
    line = {text_.substr(at_, end - at_), ++number_, at_};
    if (end + 1 < text_.size() && text_[end] == '\r' && text_[end + 1] == '\n') ++end;
    at_ = end + 1;
    return true;
}

std::vector<std::string> cells(std::string_view line, Delimiter delimiter) {
    bool const by_blanks = delimiter == Delimiter::blanks || delimiter == Delimiter::wide_blanks;
    std::vector<std::string> out;
    if (by_blanks) line = trimmed(line);
    std::size_t at = 0;
    for (;;) {
        while (at < line.size() && is_blank(line[at]) && line[at] != sign_of(delimiter)) ++at;
        std::string cell;
        if (at < line.size() && line[at] == '"') {
            for (++at; at < line.size(); ++at) {
                if (line[at] == '"') {
                    if (at + 1 >= line.size() || line[at + 1] != '"') break;
                    ++at;
                }
                cell += line[at];
            }
            if (at < line.size()) ++at;  // the closing quote
        }
        std::size_t const from = at;
        while (at < line.size() && delimiter_end(line, at, delimiter) == at) ++at;
        cell += trimmed(line.substr(from, at - from));
        out.emplace_back(trimmed(cell));
        if (at >= line.size()) return out;
        at = delimiter_end(line, at, delimiter);
    }
}

std::string outside_quotes(std::string_view line) {
    std::string out(line);
    bool inside = false;
    for (char& c : out) {
        if (c == '"') {
            inside = !inside;
            c = 'q';
        } else if (inside) {
            c = 'q';
        }
    }
    return out;
}

std::optional<double> cell_number(std::string_view cell, bool decimal_comma) {
    if (!decimal_comma) return parse_number(cell);
    if (cell.find('.') != std::string_view::npos) return std::nullopt;
    std::string with_point(cell);
    std::ranges::replace(with_point, ',', '.');
    return parse_number(with_point);
}

std::optional<std::pair<std::string, std::string>> key_and_value(std::string_view text) {
    auto const colon = text.find(':');
    if (colon == std::string_view::npos) return std::nullopt;
    auto const key = trimmed(text.substr(0, colon));
    if (key.empty() || key.size() > longest_key) return std::nullopt;
    return std::pair(lowered(key), std::string(trimmed(text.substr(colon + 1))));
}

bool is_comment(std::string_view line) {
    auto const text = trimmed(line);
    return !text.empty() && text.front() == '#';
}

std::optional<std::pair<std::string, std::string>> comment_entry(std::string_view line) {
    auto text = trimmed(line);
    while (!text.empty() && text.front() == '#') text.remove_prefix(1);
    return key_and_value(text);
}

Title title(std::string_view cell) {
    cell = trimmed(cell);
    auto const made = [](std::string_view name, std::string_view unit, bool in_brackets) {
        return Title{lowered(trimmed(name)),
                     std::string(trimmed(name)),
                     std::string(trimmed(unit)),
                     in_brackets};
    };
    for (auto const& brackets : {std::pair('(', ')'), std::pair('[', ']'), std::pair('{', '}')}) {
        auto const open = cell.find(brackets.first);
        auto const close = cell.rfind(brackets.second);
        if (open != std::string_view::npos && close != std::string_view::npos && open < close)
            return made(cell.substr(0, open), cell.substr(open + 1, close - open - 1), true);
    }
    // Without brackets a last word is a unit only when it is known to be one.
    for (std::string_view const before : {"/", ",", "_", " in ", " "}) {
        auto const at = lowered(cell).rfind(before);
        if (at == std::string::npos || at == 0) continue;
        auto const unit = trimmed(cell.substr(at + before.size()));
        if (seconds_per(unit) || is_signal_unit(unit)) return made(cell.substr(0, at), unit, false);
    }
    return made(cell, {}, false);
}

std::optional<double> seconds_per(std::string_view unit) {
    static constexpr std::array<std::string_view, 11> seconds = {"s",
                                                                 "sec",
                                                                 "secs",
                                                                 "sec.",
                                                                 "second",
                                                                 "seconds",
                                                                 "sek",
                                                                 "sek.",
                                                                 "sekunden",
                                                                 "seconde",
                                                                 "secondes"};
    static constexpr std::array<std::string_view, 7> minutes = {
        "min", "mins", "min.", "minute", "minutes", "minuten", "mn"};
    static constexpr std::array<std::string_view, 6> milliseconds = {
        "ms", "msec", "msecs", "millisecond", "milliseconds", "millisekunden"};
    static constexpr std::array<std::string_view, 7> hours = {
        "h", "hr", "hrs", "hour", "hours", "std", "stunden"};
    auto const word = lowered(trimmed(unit));
    if (one_of(word, seconds)) return 1.0;
    if (one_of(word, minutes)) return 60.0;
    if (one_of(word, milliseconds)) return 1e-3;
    if (one_of(word, hours)) return 3600.0;
    return std::nullopt;
}

bool is_signal_unit(std::string_view unit) {
    // The micro sign has two code points (U+00B5, U+03BC); exports use both, or a plain u.
    static constexpr std::array<std::string_view, 18> units = {"mv",
                                                               "uv",
                                                               "\xC2\xB5v",
                                                               "\xCE\xBCv",
                                                               "v",
                                                               "nv",
                                                               "volt",
                                                               "volts",
                                                               "counts",
                                                               "count",
                                                               "cts",
                                                               "pa",
                                                               "na",
                                                               "ua",
                                                               "ma",
                                                               "au",
                                                               "mau",
                                                               "25uv"};
    return one_of(lowered(trimmed(unit)), units);
}

std::string at_line(std::string const& source, std::size_t line) {
    return fmt::format("{}:{}", source, line);
}

std::string in_quotes(std::string_view cell) {
    constexpr std::size_t longest = 40;
    std::string out = "\"";
    for (char const c : cell.substr(0, longest))
        out += static_cast<unsigned char>(c) < 0x20 || c == 0x7F ? '?' : c;
    // Never end in half a character.
    while (cell.size() > longest && out.size() > 1 &&
           (static_cast<unsigned char>(out.back()) & 0x80U) != 0)
        out.pop_back();
    return out + (cell.size() > longest ? "...\"" : "\"");
}

}  // namespace gw::trace
