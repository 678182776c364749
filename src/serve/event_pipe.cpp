#include "serve/event_pipe.hpp"

#include <boost/asio/post.hpp>
#include <boost/asio/write.hpp>

#include "serve/events.hpp"

namespace gw::serve {

namespace asio = boost::asio;
using tcp = asio::ip::tcp;
using Code = boost::system::error_code;

EventPipe::EventPipe(tcp::socket& socket,
                     Shared& shared,
                     EventStream events,
                     std::weak_ptr<void> owner,
                     std::function<void()> close)
    : socket_(socket),
      shared_(shared),
      events_(std::move(events)),
      owner_(std::move(owner)),
      close_(std::move(close)),
      timer_(shared.io) {}

void EventPipe::start() {
    watch_for_the_end();
    write(std::make_shared<std::string const>(events_.hello));
    if (events_.hub) hear(*events_.hub);
}

void EventPipe::end() {
    ear_.reset();
    timer_.cancel();
}

// A reader of events says nothing more; the only news from it is that it has gone.
void EventPipe::watch_for_the_end() {
    socket_.async_wait(tcp::socket::wait_read,
                       [self = shared_from_this(), owner = owner_.lock()](Code e) {
                           if (e) return;
                           char bytes[256];
                           Code problem;
                           auto const n = self->socket_.read_some(asio::buffer(bytes), problem);
                           if (problem || n == 0) return self->close_();
                           self->watch_for_the_end();
                       });
}

// The hub tells from any thread; what it tells is written by the one that owns the connection.
void EventPipe::hear(EventHub& hub) {
    ear_ = hub.listen([weak = weak_from_this(), owner = owner_, &io = shared_.io](auto event) {
        asio::post(io, [weak, owner, event = std::move(event)] {
            auto const open = owner.lock();
            auto const self = weak.lock();
            if (open && self) self->enqueue(event);
        });
    });
}

void EventPipe::enqueue(Event event) {
    constexpr std::size_t most_waiting = 1000;  // a reader that takes nothing is let go
    if (!socket_.is_open()) return;
    if (queue_.size() >= most_waiting) return close_();
    queue_.push_back(std::move(event));
    if (writing_) return;
    timer_.cancel();
    write_next();
}

void EventPipe::write_next() {
    auto event = std::move(queue_.front());
    queue_.pop_front();
    write(std::move(event));
}

void EventPipe::write(Event event) {
    writing_ = true;
    auto const bytes = asio::buffer(*event);
    asio::async_write(
        socket_,
        bytes,
        [self = shared_from_this(), owner = owner_.lock(), event = std::move(event)](Code e, auto) {
            self->writing_ = false;
            if (e || self->shared_.stopping) return self->close_();
            if (!self->queue_.empty()) return self->write_next();
            self->beat_later();
        });
}

void EventPipe::beat_later() {
    timer_.expires_after(events_.every);
    timer_.async_wait([self = shared_from_this(), owner = owner_.lock()](Code waited) {
        if (!waited && !self->writing_)
            self->write(std::make_shared<std::string const>(self->events_.beat));
    });
}

}  // namespace gw::serve
