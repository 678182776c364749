#pragma once
/// Many runs named at once: a folder, a list of files, or a packed archive.
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "desk/load.hpp"
#include "trace/archive.hpp"

namespace gw::desk {

class RunList {
  public:
    /// DIR: every file in it, by name; LIST: a text file with one path a line (relative to the
    /// list; '#' and blank lines are left out); ARCHIVE: its runs in their order.
    static Result<RunList> open(std::string const& path);
    /// The files themselves, folders among them opened up.
    static Result<RunList> of(std::vector<std::string> const& paths);

    [[nodiscard]] std::size_t size() const { return archive_ ? archive_->size() : paths_.size(); }
    [[nodiscard]] std::string name(std::size_t i) const;
    /// Safe from several threads, each with its own unpacker.
    Result<Run> read(std::size_t i, trace::Unpacker& unpacker, std::optional<double> rate_hz) const;
    /// Changes when a run is added, left out, moved or written again.
    [[nodiscard]] std::string fingerprint() const;

  private:
    std::vector<std::string> paths_;
    std::optional<trace::Archive> archive_;
};

}  // namespace gw::desk
