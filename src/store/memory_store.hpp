#pragma once
/// A record that ends with the program: for tests, drills and demonstrations.
#include <map>
#include <string>
#include <vector>

#include "store/store.hpp"

namespace gw::store {

class MemoryStore final : public Store {
  public:
    Result<std::vector<Entry>> append(Append const& what) override;
    [[nodiscard]] Result<std::vector<Entry>> of_subject(std::string const& subject) const override;
    [[nodiscard]] Result<std::vector<Entry>> from(std::int64_t from,
                                                  std::size_t limit) const override;
    [[nodiscard]] Result<Head> head() const override;
    [[nodiscard]] Result<std::string> evidence(std::string const& sha256) const override;
    [[nodiscard]] Result<std::vector<VisitLine>> visits(VisitFilter const& which) const override;
    [[nodiscard]] Result<std::vector<ThingLine>> things(std::string const& kind) const override;
    [[nodiscard]] Result<std::optional<ThingLine>> thing(std::string const& subject) const override;
    [[nodiscard]] Result<std::optional<VisitLine>> visit(std::string const& id) const override;
    [[nodiscard]] Result<Checked> check(std::optional<Head> const& known) const override;
    /// Memory cannot be copied to a file: always fails.
    [[nodiscard]] Result<> backup(std::string const& file) const override;

  private:
    std::vector<Entry> entries_;
    std::map<std::string, std::string> evidence_;
    std::map<std::string, VisitLine> visits_;
    std::map<std::string, ThingLine> things_;
};

}  // namespace gw::store
