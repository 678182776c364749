#include "serve/server.hpp"

#include <fmt/format.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <csignal>
#include <deque>
#include <limits>
#include <optional>
#include <set>

#include "base/text.hpp"
#include "serve/events.hpp"

namespace gw::serve {

namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using tcp = asio::ip::tcp;
using Code = beast::error_code;

// The head, and the body with it once it was read.
Request request_of(http::request<http::string_body>& message) {
    Request out;
    switch (message.method()) {
        case http::verb::get:
            out.method = Method::get;
            break;
        case http::verb::head:
            out.method = Method::head;
            break;
        case http::verb::post:
            out.method = Method::post;
            break;
        default:
            out.method = Method::other;
    }
    out.target = std::string(message.target());
    for (auto const& field : message)
        out.headers.emplace_back(lowered({field.name_string().data(), field.name_string().size()}),
                                 std::string(field.value()));
    out.body = std::move(message.body());
    return out;
}

struct Shared {
    Shared(asio::io_context& loop, ServerOptions const& asked)
        : io(loop), options(asked), workers(asked.workers) {}
    asio::io_context& io;
    ServerOptions options;
    asio::thread_pool workers;
    Answerer answerer;
    bool stopping = false;
};

class Connection : public std::enable_shared_from_this<Connection> {
  public:
    Connection(tcp::socket socket, Shared& shared, std::set<Connection*>& open)
        : stream_(std::move(socket)), timer_(shared.io), shared_(shared), open_(open) {
        open_.insert(this);
    }
    ~Connection() { open_.erase(this); }
    Connection(Connection const&) = delete;
    Connection& operator=(Connection const&) = delete;

    void read() {
        parser_.emplace();
        parser_->header_limit(static_cast<std::uint32_t>(shared_.options.longest_header));
        parser_->body_limit(
            std::numeric_limits<std::int64_t>::max());  // set when the head is known
        stream_.expires_after(shared_.options.patience);
        idle_ = true;
        http::async_read_header(
            stream_, buffer_, *parser_, [self = shared_from_this()](Code e, auto) {
                self->idle_ = false;
                self->on_head(e);
            });
    }

    /// What waits is let go; an answer under way may end.
    void stop() {
        if (idle_ || streaming_) close();
    }

  private:
    // How much may follow is settled by who asks for what, before a byte of it is taken.
    void on_head(Code error) {
        if (error) return refuse(error);
        auto const longest = shared_.answerer.longest_body(request_of(parser_->get()));
        if (auto const stated = parser_->content_length(); stated && *stated > longest)
            return refuse(http::error::body_limit);
        parser_->body_limit(longest);
        stream_.expires_after(longest > shared_.options.longest_body ? shared_.options.patience_body
                                                                     : shared_.options.patience);
        http::async_read(stream_, buffer_, *parser_, [self = shared_from_this()](Code e, auto) {
            self->on_read(e);
        });
    }

    void on_read(Code error) {
        if (error) return refuse(error);
        auto& message = parser_->get();
        head_only_ = message.method() == http::verb::head;
        keep_alive_ = message.keep_alive() && !shared_.stopping;
        auto answer = shared_.answerer.answer(request_of(message));
        if (!answer.later) return send(std::move(answer.now));
        stream_.expires_never();  // the work sets its own pace
        asio::post(shared_.workers,
                   [self = shared_from_this(), work = std::move(answer.later)]() mutable {
                       auto made = std::make_shared<Response>(work());
                       auto& io = self->shared_.io;
                       // The last to let go of a connection must be the thread that owns it.
                       asio::post(io, [self = std::move(self), made = std::move(made)] {
                           self->send(std::move(*made));
                       });
                   });
    }

    // Bytes that are no request: one clear answer, then the end. Silence is no offence: it is left.
    void refuse(Code error) {
        int status = 0;
        if (error == http::error::header_limit)
            status = 431;
        else if (error == http::error::body_limit)
            status = 413;
        else if (error.category() == make_error_code(http::error::bad_target).category() &&
                 error != http::error::end_of_stream && error != http::error::partial_message)
            status = 400;
        if (status == 0) return close();
        head_only_ = keep_alive_ = false;
        lingers_ = true;
        send(problem(Problem{status,
                             "bad_request",
                             status == 400 ? "This is not a request." : "The request is too large.",
                             "request",
                             "",
                             {}}));
    }

    void send(Response response) {
        message_ = {};
        message_.version(11);
        message_.result(static_cast<unsigned>(response.status));
        for (auto const& [name, value] : response.headers) message_.insert(name, value);
        events_ = std::move(response.events);
        if (events_) keep_alive_ = false;
        message_.keep_alive(keep_alive_);
        if (!events_) {
            message_.body() = std::move(response.body);
            if (response.status == 304)
                message_.erase(http::field::content_length);
            else
                message_.content_length(message_.body().size());
        }
        stream_.expires_after(shared_.options.patience);
        serializer_.emplace(message_);
        auto done = [self = shared_from_this()](Code e, auto) { self->on_sent(e); };
        if (head_only_ || events_)
            http::async_write_header(stream_, *serializer_, std::move(done));
        else
            http::async_write(stream_, *serializer_, std::move(done));
    }

    void on_sent(Code error) {
        if (error) return close();
        if (events_ && !head_only_) {
            streaming_ = true;
            stream_.expires_never();
            watch_for_the_end();
            write_event(std::make_shared<std::string const>(events_->hello));
            if (events_->hub) hear(*events_->hub);
            return;
        }
        if (lingers_) return linger();
        if (!keep_alive_ || shared_.stopping) return close();
        read();
    }

    // One who is still sending would lose the answer with the connection: what comes is thrown away
    // for a moment, so that he reads why (RFC 9112, 9.6).
    void linger() {
        Code ignored;
        stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
        stream_.expires_after(std::chrono::seconds(2));
        scrap_.resize(64UL * 1024);
        discard();
    }

    void discard() {
        stream_.async_read_some(asio::buffer(scrap_), [self = shared_from_this()](Code e, auto) {
            if (e || self->shared_.stopping) return self->close();
            self->discard();
        });
    }

    // A reader of events says nothing more; the only news from it is that it has gone.
    void watch_for_the_end() {
        stream_.socket().async_wait(tcp::socket::wait_read, [self = shared_from_this()](Code e) {
            if (e) return;
            char bytes[256];
            Code problem;
            auto const n = self->stream_.socket().read_some(asio::buffer(bytes), problem);
            if (problem || n == 0) return self->close();
            self->watch_for_the_end();
        });
    }

    // The hub tells from any thread; what it tells is written by the one that owns the connection.
    void hear(EventHub& hub) {
        ear_ = hub.listen([weak = weak_from_this(), &io = shared_.io](auto event) {
            asio::post(io, [weak, event = std::move(event)] {
                if (auto const self = weak.lock()) self->enqueue(event);
            });
        });
    }

    void enqueue(std::shared_ptr<std::string const> event) {
        constexpr std::size_t most_waiting = 1000;  // a reader that takes nothing is let go
        if (!stream_.socket().is_open()) return;
        if (queue_.size() >= most_waiting) return close();
        queue_.push_back(std::move(event));
        if (writing_) return;
        timer_.cancel();
        write_next();
    }

    void write_next() {
        auto event = std::move(queue_.front());
        queue_.pop_front();
        write_event(std::move(event));
    }

    void write_event(std::shared_ptr<std::string const> event) {
        writing_ = true;
        auto const bytes = asio::buffer(*event);
        asio::async_write(
            stream_.socket(),
            bytes,
            [self = shared_from_this(), event = std::move(event)](Code e, auto) {
                self->writing_ = false;
                if (e || self->shared_.stopping) return self->close();
                if (!self->queue_.empty()) return self->write_next();
                self->timer_.expires_after(self->events_->every);
                self->timer_.async_wait([self](Code waited) {
                    if (!waited && !self->writing_)
                        self->write_event(std::make_shared<std::string const>(self->events_->beat));
                });
            });
    }

    void close() {
        Code ignored;
        ear_.reset();
        timer_.cancel();
        stream_.socket().shutdown(tcp::socket::shutdown_both, ignored);
        stream_.close();
    }

    beast::tcp_stream stream_;
    asio::steady_timer timer_;
    beast::flat_buffer buffer_;
    std::optional<http::request_parser<http::string_body>> parser_;
    http::response<http::string_body> message_;
    std::optional<http::response_serializer<http::string_body>> serializer_;
    std::optional<EventStream> events_;
    std::shared_ptr<void> ear_;
    std::deque<std::shared_ptr<std::string const>> queue_;
    bool writing_ = false;
    bool lingers_ = false;
    std::string scrap_;
    bool idle_ = false, streaming_ = false, head_only_ = false, keep_alive_ = false;
    Shared& shared_;
    std::set<Connection*>& open_;
};

}  // namespace

struct Server::Impl {
    std::set<Connection*> open;  // first: what is still waiting in `io` at its end leaves it last
    asio::io_context io{1};
    tcp::acceptor acceptor{io};
    asio::steady_timer deadline{io}, pause{io};
    std::optional<asio::signal_set> signals;
    Shared shared;

    explicit Impl(ServerOptions const& options) : shared(io, options) {}
    ~Impl() {
        signals.reset();
        shared.workers.join();
    }

    void accept() {
        acceptor.async_accept([this](Code error, tcp::socket socket) {
            if (error == asio::error::operation_aborted || shared.stopping) return;
            if (error) {  // out of descriptors: wait for some to come back
                pause.expires_after(std::chrono::milliseconds(100));
                pause.async_wait([this](Code waited) {
                    if (!waited && !shared.stopping) accept();
                });
                return;
            }
            Code ignored;
            socket.set_option(tcp::no_delay(true), ignored);
            if (open.size() < shared.options.most_connections)
                std::make_shared<Connection>(std::move(socket), shared, open)->read();
            accept();
        });
    }

    void stop() {
        if (shared.stopping) return;
        shared.stopping = true;
        Code ignored;
        acceptor.close(ignored);
        pause.cancel();
        if (signals) signals->cancel(ignored);
        auto const connections = open;  // closing one may take another out of the set
        for (auto* connection : connections)
            if (open.count(connection) > 0) connection->stop();
        deadline.expires_after(shared.options.farewell);
        deadline.async_wait([this](Code waited) {
            if (!waited) io.stop();
        });
        drain();
    }

    // Ends as soon as the last answer is out, not only at the deadline.
    void drain() {
        if (open.empty()) {
            deadline.cancel();
            return;
        }
        pause.expires_after(std::chrono::milliseconds(10));
        pause.async_wait([this](Code) { drain(); });
    }
};

Server::Server(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Server::Server(Server&&) noexcept = default;
Server& Server::operator=(Server&&) noexcept = default;
Server::~Server() = default;

Result<Server> Server::listen(ServerOptions const& options) {
    auto impl = std::make_unique<Impl>(options);
    tcp::endpoint const here(asio::ip::address_v4::loopback(), options.port);
    Code error;
    impl->acceptor.open(here.protocol(), error);
    if (!error) impl->acceptor.set_option(tcp::acceptor::reuse_address(true), error);
    if (!error) impl->acceptor.bind(here, error);
    if (!error) impl->acceptor.listen(asio::socket_base::max_listen_connections, error);
    if (error)
        return fail(Errc::io,
                    fmt::format("Port {} cannot be had ({}).", options.port, error.message()),
                    "--port",
                    "name another, or 0 for any free one");
    return Server(std::move(impl));
}

std::uint16_t Server::port() const {
    Code ignored;
    return impl_->acceptor.local_endpoint(ignored).port();
}

void Server::run(std::function<Response(Request)> answer) {
    auto const longest = impl_->shared.options.longest_body;
    run(Answerer{[longest](Request const&) { return longest; },
                 [answer = std::move(answer)](Request request) {
                     return gw::serve::Answer{answer(std::move(request)), {}};
                 }});
}

void Server::run(Answerer answerer) {
    impl_->shared.answerer = std::move(answerer);
    impl_->signals.emplace(impl_->io, SIGINT, SIGTERM);
    impl_->signals->async_wait([impl = impl_.get()](Code error, int) {
        if (!error) impl->stop();
    });
    impl_->accept();
    impl_->io.run();
    impl_->shared.workers.join();  // what handlers use may go once this returns
    impl_->shared.answerer = {};
}

void Server::stop() {
    asio::post(impl_->io, [impl = impl_.get()] { impl->stop(); });
}

}  // namespace gw::serve
