#pragma once
/// The table of a replay: its header and its rows as text.
#include <string>
#include <vector>

#include "desk/assay.hpp"

namespace gw::desk {

class ReplayTable {
  public:
    explicit ReplayTable(AssaySetup const& setup);
    [[nodiscard]] std::string header() const;
    [[nodiscard]] std::string row(std::string const& run,
                                  std::string const& start,
                                  AssayedRun const& assayed) const;
    [[nodiscard]] std::string failed_row(std::string const& run,
                                         std::string const& start,
                                         Error const& error) const;

  private:
    std::vector<gas::Component> components_;
    std::string unit_;
};

}  // namespace gw::desk
