#pragma once
/// The file system, where bytes come in and go out whole or not at all.
#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace gw {

/// Largest file read into memory. 10^7 samples of text are about 250 MB.
inline constexpr std::size_t largest_file_bytes = std::size_t{1} << 30U;

/// Whole content of a file; "-" is standard input. Fails with io when it cannot be read and with
/// bad_input when it is larger than `limit` bytes or is a folder.
Result<std::string> read_file(std::string const& path, std::size_t limit = largest_file_bytes);

/// Writes beside the target and renames, so that a reader sees the old file or the new one, never
/// half of it. "-" writes to standard output.
Result<> write_file(std::string const& path, std::string_view bytes);

/// `path` as seen from the folder of the file `from` (paths inside a file are relative to it).
std::string beside(std::string const& from, std::string const& path);

}  // namespace gw
