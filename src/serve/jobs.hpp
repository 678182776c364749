#pragma once
/// Work of seconds and minutes: started by one call, told of by events, fetched by another. The
/// threads that answer are never kept by it.
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "serve/events.hpp"

namespace gw::serve {

class Jobs {
  public:
    /// Told by the work: how far it is (0 to 1) and what it does. False: give up, for the program
    /// ends or somebody wants it no more.
    using Report = std::function<bool(double share, std::string const& says)>;
    using Work = std::function<Result<Json>(Report const&)>;

    /// `threads`: how many jobs run at once; the rest wait in order.
    explicit Jobs(std::shared_ptr<EventHub> hub, unsigned threads = 1);
    ~Jobs();  ///< waits for the job under way, which is told to give up
    Jobs(Jobs const&) = delete;
    Jobs& operator=(Jobs const&) = delete;

    /// Answers the job's id at once. Every change is told as event "job".
    std::string start(std::string title, Work work);
    /// Tells the work to give up, or takes it out of the row; false for an unknown or ended one.
    bool stop(std::string const& id);
    /// {"id", "title", "state": "waiting"|"running"|"done"|"failed"|"stopped", "share", "says",
    /// "result", "problem"}; none for an unknown id. The last fifty are remembered.
    [[nodiscard]] std::optional<Json> look(std::string const& id) const;

  private:
    struct Job;
    void run();
    void tell(Job const& job) const;
    [[nodiscard]] static Json brief(Job const& job);

    std::shared_ptr<EventHub> hub_;
    mutable std::mutex guard_;
    std::condition_variable news_;
    bool ending_ = false;
    std::int64_t next_ = 1;
    std::map<std::string, std::shared_ptr<Job>> jobs_;
    std::deque<std::shared_ptr<Job>> waiting_, remembered_;
    std::vector<std::thread> threads_;
};

}  // namespace gw::serve
