#include "desk/store.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"

namespace gw::desk {

std::string store_file(std::string const& asked,
                       std::string const& data_home,
                       std::string const& home) {
    if (!asked.empty()) return asked;
    // A relative XDG_DATA_HOME is to be passed over (XDG base directory specification).
    auto const base = !data_home.empty() && data_home.front() == '/' ? data_home
                      : !home.empty()                                ? home + "/.local/share"
                                                                     : std::string(".");
    return base + "/gaswright/gaswright.db";
}

Json checked_json(store::Checked const& checked) {
    Json bad = nullptr;
    if (checked.first_bad)
        bad = Json{
            {"entry", checked.first_bad->entry ? Json(*checked.first_bad->entry) : Json(nullptr)},
            {"what", checked.first_bad->what}};
    return Json{{"entries", checked.head.entries},
                {"head", checked.head.hash.empty() ? Json(nullptr) : Json(checked.head.hash)},
                {"intact", checked.intact()},
                {"evidence", checked.evidence},
                {"faults", checked.faults},
                {"first_bad", std::move(bad)}};
}

std::string checked_text(store::Checked const& checked, std::string const& file) {
    if (checked.intact())
        return fmt::format("{}: intact, {} entries, {} files\nHead: {}:{}\n",
                           file,
                           checked.head.entries,
                           checked.evidence,
                           checked.head.entries,
                           checked.head.hash);
    return fmt::format(
        "{}: NOT INTACT, {} found wrong\nFirst: {}{}\n",
        file,
        checked.faults,
        checked.first_bad->entry ? fmt::format("entry {}: ", *checked.first_bad->entry) : "",
        checked.first_bad->what);
}

Result<store::Head> read_head(std::string const& text, std::string const& where) {
    auto const parts = split(text, ':');
    auto const entries = parts.size() == 2 ? parse_number(parts[0]) : std::nullopt;
    if (!entries || *entries < 1 || *entries > 9e15 || !visit::is_sha256(parts[1]))
        return fail(Errc::bad_input,
                    "This is no head of a record.",
                    where,
                    "give ENTRIES:HASH as store check prints it");
    return store::Head{static_cast<std::int64_t>(*entries), std::string(parts[1])};
}

}  // namespace gw::desk
