#include "serve/keys.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"

namespace gw::serve {

namespace {

constexpr std::size_t shortest_passphrase = 8;  // letters; common practice, no source

// A name as a file's: letters and digits, the rest a dash.
std::string as_file(std::string const& name) {
    std::string out;
    for (char const c : lowered(name)) {
        bool const plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z');
        if (plain)
            out += c;
        else if (!out.empty() && out.back() != '-')
            out += '-';
    }
    while (!out.empty() && out.back() == '-') out.pop_back();
    return out.empty() ? "person" : out.substr(0, 40);
}

}  // namespace

std::vector<KeptKey> KeyFolder::keys() const {
    std::vector<KeptKey> out;
    std::error_code fault;
    for (auto at = std::filesystem::directory_iterator(folder_, fault);
         !fault && at != std::filesystem::directory_iterator();
         at.increment(fault)) {
        auto const path = at->path().string();
        if (at->path().extension() != ".key") continue;
        auto const text = read_file(path);
        if (!text) continue;
        if (auto key = desk::read_key(*text, path)) out.push_back({path, *std::move(key)});
    }
    std::sort(out.begin(), out.end(), [](auto const& a, auto const& b) {
        return std::pair(a.file.name, a.path) < std::pair(b.file.name, b.path);
    });
    return out;
}

Result<KeptKey> KeyFolder::make(std::string const& name,
                                desk::Secret const& passphrase,
                                Instant now,
                                desk::Cost cost) {
    auto const person = std::string(trimmed(name));
    if (person.empty())
        return fail(Errc::bad_input, "The name is empty.", "name", "say whose key it is");
    if (passphrase.size() < shortest_passphrase)
        return fail(Errc::bad_input,
                    fmt::format("The passphrase has fewer than {} letters.", shortest_passphrase),
                    "passphrase",
                    "take a long one: whoever guesses it signs in this name");
    std::error_code fault;
    std::filesystem::create_directories(folder_, fault);
    if (fault)
        return fail(Errc::io, "The folder of the keys cannot be made.", folder_, fault.message());
    std::filesystem::permissions(
        folder_, std::filesystem::perms::owner_all, std::filesystem::perm_options::replace, fault);
    GW_TRY(auto const text, desk::new_key(person, passphrase, now, cost));
    for (int number = 1; number < 1000; ++number) {
        auto const path =
            (std::filesystem::path(folder_) /
             (as_file(person) + (number == 1 ? "" : fmt::format("-{}", number)) + ".key"))
                .string();
        if (std::filesystem::exists(path, fault)) continue;
        GW_CHECK(desk::write_key_file(path, text));
        GW_TRY(auto key, desk::read_key(text, path));
        return KeptKey{path, std::move(key)};
    }
    return fail(Errc::conflict,
                "There are a thousand keys of this name.",
                folder_,
                "move old ones elsewhere");
}

Result<desk::SigningKey> KeyFolder::opened(std::string const& fingerprint,
                                           desk::Secret const& passphrase) const {
    for (auto const& kept : keys())
        if (desk::fingerprint(kept.file.public_key) == fingerprint)
            return desk::open_key(kept.file, passphrase, kept.path);
    return fail(Errc::not_found, "There is no key of this fingerprint here.", "key", "choose one");
}

}  // namespace gw::serve
