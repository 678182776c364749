#pragma once
/// What was opened and is asked for again and again: read once, held in memory under its name, and
/// let go when newer things need the room. Nothing is lost by that: whoever opened it can do so
/// again. May be used from any thread.
#include <cstddef>
#include <list>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

namespace gw::serve {

template <class T>
class Shelf {
  public:
    /// room: bytes of all things together; the newest stays even when it alone is larger.
    explicit Shelf(std::size_t room) : room_(room) {}

    /// None when it is not there (any more). What was found stays whole while the pointer lives.
    std::shared_ptr<T const> find(std::string const& name) {
        std::lock_guard const lock(guard_);
        auto const at = places_.find(name);
        if (at == places_.end()) return nullptr;
        things_.splice(things_.begin(), things_, at->second);
        return at->second->thing;
    }
    std::shared_ptr<T const> keep(std::string const& name, T thing, std::size_t bytes) {
        auto held = std::make_shared<T const>(std::move(thing));
        std::lock_guard const lock(guard_);
        drop(name);
        things_.push_front({name, held, bytes});
        places_[name] = things_.begin();
        used_ += bytes;
        while (used_ > room_ && things_.size() > 1) drop(std::string(things_.back().name));
        return held;
    }
    /// Lets go, before something of about so many bytes is read, what would have to go then: the
    /// two are never in memory together.
    void make_room(std::size_t bytes) {
        std::lock_guard const lock(guard_);
        while (!things_.empty() && used_ + bytes > room_) drop(std::string(things_.back().name));
    }

  private:
    struct Held {
        std::string name;
        std::shared_ptr<T const> thing;
        std::size_t bytes{};
    };
    void drop(std::string const& name) {
        auto const at = places_.find(name);
        if (at == places_.end()) return;
        used_ -= at->second->bytes;
        things_.erase(at->second);
        places_.erase(at);
    }

    std::size_t room_, used_ = 0;
    std::mutex guard_;
    std::list<Held> things_;  ///< last used first
    std::map<std::string, typename std::list<Held>::iterator> places_;
};

}  // namespace gw::serve
