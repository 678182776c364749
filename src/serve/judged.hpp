#pragma once
/// A visit with its findings. They are made anew from all evidence whenever the record has grown,
/// which takes a moment for a whole visit: what was made is kept until it grows again, and two
/// calls at once make it once. After every entry they are made ahead, on a thread of their own, and
/// told as event "judged" {"visit", "last_entry"}: nobody who answers is kept by it.
#include <condition_variable>
#include <cstdint>
#include <future>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "desk/sign.hpp"
#include "desk/visit.hpp"
#include "desk/visit_findings.hpp"
#include "serve/books.hpp"
#include "serve/events.hpp"

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
    /// hub: who is told; none: nobody.
    explicit JudgedVisits(std::shared_ptr<Books> books, std::shared_ptr<EventHub> hub = {});
    ~JudgedVisits();  ///< waits for the visit under way
    JudgedVisits(JudgedVisits const&) = delete;
    JudgedVisits& operator=(JudgedVisits const&) = delete;

    /// As the record stands now; waits until it is made.
    Result<std::shared_ptr<Judged const>> of(std::string const& visit);
    /// The entry up to which this visit is judged already, at once; none: not at all.
    [[nodiscard]] std::optional<std::int64_t> judged_to(std::string const& visit) const;
    /// Begins it and does not wait. Many entries after another are judged once or twice.
    void foresee(std::string const& visit);

  private:
    using Made = Result<std::shared_ptr<Judged const>>;
    struct Kept {
        std::int64_t last{};
        std::shared_future<Made> made;
    };
    void ahead();

    std::shared_ptr<Books> books_;
    std::shared_ptr<EventHub> hub_;
    desk::RunCache runs_;
    mutable std::mutex guard_;
    std::map<std::string, Kept> kept_;  ///< by visit; the ids of two books do not meet
    std::condition_variable news_;
    std::set<std::string> asked_;
    bool ending_ = false;
    std::thread thread_;  ///< last: it uses all of the above
};

}  // namespace gw::serve
