#pragma once
/// What every act on a visit shares: who does it and what he had seen, the book it is written in,
/// the windows that are told, and the answer to one who had not seen it all.
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "desk/visit.hpp"
#include "serve/api/body.hpp"
#include "serve/page.hpp"

namespace gw::serve {

/// A body whose every field is known: one that is misspelt is a fault, not silence. Valid while its
/// Document lives.
class Said {
  public:
    /// by, at and seen are known in every act.
    static Result<Said> of(Document const& document, std::vector<std::string_view> fields);

    [[nodiscard]] Result<std::string> text(std::string_view name) const;  ///< "" when absent
    [[nodiscard]] Result<std::optional<std::string>> optional_text(std::string_view name) const;
    [[nodiscard]] Field const& root() const { return root_; }

  private:
    explicit Said(Field root) : root_(std::move(root)) {}
    Field root_;
};

Result<visit::Act> act_of(App const& app,
                          std::string const& by,
                          std::string const& at,
                          std::optional<double> seen);
Result<visit::Act> act_of(App const& app, Said const& said);

/// What the clock says in a visit. An invented one lives on its own invented day: there it is the
/// time of its last entry.
Instant clock_in(App const& app, Book book, std::vector<visit::Entry> const& entries);

/// Where a visit stands, without its findings: at once after every act, while those are still being
/// made.
Json standing_json(App const& app, desk::LoadedVisit loaded, Book book);

using Do = std::function<Result<desk::Recorded>(
    store::Store& store, std::string const& id, visit::Act const& act)>;

/// Does it in the book of that visit, tells the windows, answers {"recorded", "visit"}. 409 "grown"
/// with what came between when the record had grown since it was seen.
Response recorded(App const& app,
                  std::string const& id,
                  Result<visit::Act> const& act,
                  Do const& act_on);

}  // namespace gw::serve
