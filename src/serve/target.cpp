#include "serve/target.hpp"

#include <optional>

#include "base/text.hpp"

namespace gw::serve {

namespace {

constexpr std::size_t longest =
    2048;  // bytes; common practice, no source: no address of ours has 200

std::optional<int> digit(char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return std::nullopt;
}

enum class Part { path, query };

// Percent-decoded; none when the encoding is broken or stands for what that part must not hold. In
// a query a slash is a letter like any other ("mbar L/s").
std::optional<std::string> decoded(std::string_view text, Part part) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '%') {
            out += text[i];
            continue;
        }
        if (i + 2 >= text.size()) return std::nullopt;
        auto const high = digit(text[i + 1]), low = digit(text[i + 2]);
        if (!high || !low) return std::nullopt;
        auto const c = static_cast<char>(*high * 16 + *low);
        auto const byte = static_cast<unsigned char>(c);
        bool const parts_a_path = c == '/' || c == '\\';
        if (byte < 0x20 || byte == 0x7f || (parts_a_path && part == Part::path))
            return std::nullopt;
        out += c;
        i += 2;
    }
    return out;
}

tl::unexpected<Error> refused(std::string what) {
    return fail(Errc::bad_input, std::move(what), "address", "open the address that was printed");
}

}  // namespace

Result<Target> parse_target(std::string_view target) {
    if (target.size() > longest) return refused("The address is too long.");
    if (target.empty() || target.front() != '/')
        return refused("The address does not begin with a slash.");
    for (char const c : target)
        if (c <= 0x20 || c >= 0x7f || c == '\\')
            return refused("The address holds a character that no address has.");
    auto const question = target.find('?');
    auto const path = target.substr(1, question == target.npos ? target.npos : question - 1);
    Target out;
    if (!path.empty()) {
        auto const parts = split(path, '/');
        for (std::size_t i = 0; i < parts.size(); ++i) {
            if (parts[i].empty() && i + 1 < parts.size())
                return refused("The address has an empty part.");
            auto segment = decoded(parts[i], Part::path);
            if (!segment) return refused("The address is wrongly encoded.");
            if (*segment == "." || *segment == "..")
                return refused("The address leads out of its folder.");
            out.segments.push_back(std::move(*segment));
        }
    }
    if (question == target.npos) return out;
    for (auto const pair : split(target.substr(question + 1), '&')) {
        auto const equals = pair.find('=');
        auto const name = decoded(pair.substr(0, equals), Part::query);
        auto const value = decoded(
            equals == pair.npos ? std::string_view{} : pair.substr(equals + 1), Part::query);
        if (!name || !value) return refused("The address is wrongly encoded.");
        out.query.emplace(*name, *value);
    }
    return out;
}

}  // namespace gw::serve
