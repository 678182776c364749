#pragma once
/// What every keeper of a record holds to, whatever it keeps it in. Private to this folder.
#include <functional>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "store/store.hpp"

namespace gw::store {

tl::unexpected<Error> no_such_evidence(std::string const& sha256);
/// `last`: the subject's last entry now.
Result<> require_seen(Append::Seen const& seen, std::int64_t last);
/// Every file handed in is named by an entry of the same append.
Result<> require_named(Append const& what, std::vector<Entry> const& entries);

/// The check, fed with everything that a keeper holds: entries in order, then files, then lines.
class ChainCheck {
  public:
    explicit ChainCheck(std::optional<Head> known) : known_(std::move(known)) {}

    void fault(std::optional<std::int64_t> entry, std::string what);
    void next(Entry const& entry);
    void file(std::string const& sha256, std::string const& fault);  ///< fault: empty when sound
    void visit_lines(std::vector<VisitLine> const& kept);
    void thing_lines(std::vector<ThingLine> const& kept);
    void kept_head(Head const& kept);
    /// Subjects with an undo: their lines need the entries before it. To be given before the lines.
    [[nodiscard]] std::set<std::string> const& to_fold_anew() const { return anew_; }
    void folded(std::string const& subject, std::vector<Entry> const& history);
    [[nodiscard]] bool enough() const;  ///< a hundred faults: it may stop
    [[nodiscard]] Checked end();

  private:
    std::optional<Head> known_;
    Head head_;
    bool known_seen_ = false;
    std::vector<Fault> faults_;
    std::map<std::string, VisitLine> visits_;
    std::map<std::string, ThingLine> things_;
    std::map<std::string, std::int64_t> named_;  ///< evidence: the first entry that names it
    std::set<std::string> found_, anew_;
};

}  // namespace gw::store
