#pragma once
/// A connection that stays open: events in order, a heartbeat when there is none, until either side
/// closes. Private to connection.cpp.
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <functional>
#include <memory>
#include <string>

#include "serve/conversation.hpp"

namespace gw::serve {

class EventPipe : public std::enable_shared_from_this<EventPipe> {
  public:
    /// The socket is that of `owner`, who lives while anything is under way here. `close` ends it.
    EventPipe(boost::asio::ip::tcp::socket& socket,
              Shared& shared,
              EventStream events,
              std::weak_ptr<void> owner,
              std::function<void()> close);

    /// Says hello, then what the hub tells.
    void start();
    /// Hears and says no more.
    void end();

  private:
    using Event = std::shared_ptr<std::string const>;
    void watch_for_the_end();
    void hear(EventHub& hub);
    void enqueue(Event event);
    void write_next();
    void write(Event event);
    void beat_later();

    boost::asio::ip::tcp::socket& socket_;
    Shared& shared_;
    EventStream events_;
    std::weak_ptr<void> owner_;
    std::function<void()> close_;
    boost::asio::steady_timer timer_;
    std::shared_ptr<void> ear_;
    std::deque<Event> queue_;
    bool writing_ = false;
};

}  // namespace gw::serve
