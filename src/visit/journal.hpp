#pragma once
/// What the record of visits asks of whoever keeps it. The keeper stands above this folder and is
/// handed in; nothing here knows how the bytes are kept.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "visit/entry.hpp"

namespace gw::visit {

/// One journal entry or several, with the files they rest on: all of it is kept, or nothing.
struct Append {
    std::vector<NewEntry> entries;
    std::vector<std::string> evidence;  ///< whole bytes of each file
    /// More of them, too large to copy: the caller keeps them until the append is done.
    std::vector<std::string_view> borrowed;
    /// The last entry of `subject` that the caller had seen when it decided (0: none). When another
    /// process has added to it since, nothing is written and the answer is `conflict`.
    struct Seen {
        std::string subject;
        std::int64_t last{};
    };
    std::optional<Seen> seen;
};

class Journal {
  public:
    Journal() = default;
    Journal(Journal const&) = delete;
    Journal& operator=(Journal const&) = delete;
    Journal(Journal&&) = delete;
    Journal& operator=(Journal&&) = delete;
    virtual ~Journal() = default;

    /// The answer comes when the entries are safe on the disk, not before. Every hash that an entry
    /// names must be among `evidence` or already kept.
    virtual Result<std::vector<Entry>> append(Append const& what) = 0;
    [[nodiscard]] virtual Result<std::vector<Entry>> of_subject(
        std::string const& subject) const = 0;
    /// At most `limit` entries from `from` on, in order.
    [[nodiscard]] virtual Result<std::vector<Entry>> from(std::int64_t from,
                                                          std::size_t limit) const = 0;
    [[nodiscard]] virtual Result<Head> head() const = 0;
    /// The bytes of a file by their SHA-256, which is checked.
    [[nodiscard]] virtual Result<std::string> evidence(std::string const& sha256) const = 0;
};

}  // namespace gw::visit
