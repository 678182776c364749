#pragma once
/// What the program tells every open window: server-sent events (the HTML standard, section 9.2).
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>

#include "base/json.hpp"

namespace gw::serve {

/// May be used from any thread.
class EventHub : public std::enable_shared_from_this<EventHub> {
  public:
    /// Called on the thread that tells; must not wait and must not tell.
    using Hear = std::function<void(std::shared_ptr<std::string const>)>;

    /// Hears everything told from now on, until the answer is destroyed.
    [[nodiscard]] std::shared_ptr<void> listen(Hear hear);
    void tell(std::string_view name, Json const& data);
    [[nodiscard]] bool is_heard() const;

  private:
    mutable std::mutex guard_;
    std::map<int, Hear> ears_;
    int next_ = 0;
};

/// "event: NAME\ndata: ...\n\n"
std::string event_text(std::string_view name, Json const& data);

}  // namespace gw::serve
