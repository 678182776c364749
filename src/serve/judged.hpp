#pragma once
/// A visit with its findings. They are made anew from all evidence whenever the record has grown,
/// which takes a second for a whole visit: what was made is kept until it grows again, and two
/// calls at once make it once.
#include <cstdint>
#include <future>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "desk/sign.hpp"
#include "desk/visit.hpp"
#include "desk/visit_findings.hpp"
#include "serve/books.hpp"

namespace gw::serve {

struct Judged {
    desk::LoadedVisit loaded;
    desk::VisitFindings made;
    visit::Ledger ledger;
    std::vector<visit::Signature> signatures;  ///< checked, oldest first
};

/// May be used from any thread.
class JudgedVisits {
  public:
    explicit JudgedVisits(std::shared_ptr<Books> books) : books_(std::move(books)) {}
    Result<std::shared_ptr<Judged const>> of(std::string const& visit);

  private:
    using Made = Result<std::shared_ptr<Judged const>>;
    struct Kept {
        std::int64_t last{};
        std::shared_future<Made> made;
    };
    std::shared_ptr<Books> books_;
    desk::RunCache runs_;
    std::mutex guard_;
    std::map<std::string, Kept> kept_;  ///< by visit; the ids of two books do not meet
};

}  // namespace gw::serve
