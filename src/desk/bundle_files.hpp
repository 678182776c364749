#pragma once
/// Names and forms of the files inside a bundle, for those who write and those who read it.
#include <fmt/format.h>

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace gw::desk {

inline constexpr std::string_view manifest_file = "manifest.sha256";
inline constexpr std::string_view manifest_signature = "manifest.sig";
inline constexpr std::string_view manifest_key = "manifest.pem";
inline constexpr std::string_view chain_file = "chain.txt";
inline constexpr std::string_view journal_folder = "journal/";

inline std::string journal_name(std::int64_t sequence) {
    return fmt::format("{}{:08}.txt", journal_folder, sequence);
}

/// Lines "NUMBER HASH", numbers rising by one. None when a line is anything else.
std::optional<std::map<std::int64_t, std::string>> read_chain(std::string_view text);

}  // namespace gw::desk
