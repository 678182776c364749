#pragma once
/// Long bodies, all of them together: how much is taken at once, and that they are worked on one
/// after the other, so that the program's memory is that of one. Used by one thread.
#include <cstddef>
#include <deque>
#include <functional>
#include <memory>

namespace gw::serve {

class Uploads {
  public:
    explicit Uploads(std::size_t most_bytes) : most_(most_bytes) {}

    /// Room for so many bytes, given back when the last copy of it goes; none when there is none
    /// left. Must not outlive this.
    std::shared_ptr<void const> room(std::size_t bytes) {
        if (bytes > most_ || taken_ > most_ - bytes) return nullptr;
        taken_ += bytes;
        return {this, [this, bytes](void const*) { taken_ -= bytes; }};
    }

    /// Calls `begin` when those before it are done, which may be now; done() says that it is.
    void in_turn(std::function<void()> begin) {
        waiting_.push_back(std::move(begin));
        if (!busy_) next();
    }
    void done() {
        busy_ = false;
        if (!waiting_.empty()) next();
    }

    /// What waits is never begun.
    void forget() { waiting_.clear(); }

  private:
    void next() {
        busy_ = true;
        auto const begin = std::move(waiting_.front());
        waiting_.pop_front();
        begin();
    }
    std::size_t most_, taken_ = 0;
    bool busy_ = false;
    std::deque<std::function<void()>> waiting_;
};

}  // namespace gw::serve
