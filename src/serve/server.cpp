#include "serve/server.hpp"

#include <fmt/format.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <csignal>
#include <optional>
#include <set>

#include "base/text.hpp"

namespace gw::serve {

namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using tcp = asio::ip::tcp;
using Code = beast::error_code;

Request request_of(http::request<http::string_body> const& message) {
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
    out.body = message.body();
    return out;
}

struct Shared {
    asio::io_context& io;
    ServerOptions options;
    std::function<Response(Request)> answer;
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
        parser_->body_limit(shared_.options.longest_body);
        stream_.expires_after(shared_.options.patience);
        idle_ = true;
        http::async_read(stream_, buffer_, *parser_, [self = shared_from_this()](Code e, auto) {
            self->idle_ = false;
            self->on_read(e);
        });
    }

    /// What waits is let go; an answer under way may end.
    void stop() {
        if (idle_ || streaming_) close();
    }

  private:
    void on_read(Code error) {
        if (error) return refuse(error);
        auto const& message = parser_->get();
        head_only_ = message.method() == http::verb::head;
        keep_alive_ = message.keep_alive() && !shared_.stopping;
        send(shared_.answer(request_of(message)));
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
        send(problem(Problem{status,
                             "bad_request",
                             status == 400 ? "This is not a request." : "The request is too large.",
                             "request",
                             ""}));
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
            return write_event(events_->hello);
        }
        if (!keep_alive_ || shared_.stopping) return close();
        read();
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

    void write_event(std::string const& event) {
        asio::async_write(
            stream_.socket(), asio::buffer(event), [self = shared_from_this()](Code e, auto) {
                if (e || self->shared_.stopping) return self->close();
                self->timer_.expires_after(self->events_->every);
                self->timer_.async_wait([self](Code waited) {
                    if (!waited) self->write_event(self->events_->beat);
                });
            });
    }

    void close() {
        Code ignored;
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
    bool idle_ = false, streaming_ = false, head_only_ = false, keep_alive_ = false;
    Shared& shared_;
    std::set<Connection*>& open_;
};

}  // namespace

struct Server::Impl {
    asio::io_context io{1};
    tcp::acceptor acceptor{io};
    asio::steady_timer deadline{io}, pause{io};
    std::optional<asio::signal_set> signals;
    std::set<Connection*> open;
    Shared shared;

    explicit Impl(ServerOptions const& options) : shared{io, options, {}} {}
    ~Impl() { signals.reset(); }

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
    impl_->shared.answer = std::move(answer);
    impl_->signals.emplace(impl_->io, SIGINT, SIGTERM);
    impl_->signals->async_wait([impl = impl_.get()](Code error, int) {
        if (!error) impl->stop();
    });
    impl_->accept();
    impl_->io.run();
}

void Server::stop() {
    asio::post(impl_->io, [impl = impl_.get()] { impl->stop(); });
}

}  // namespace gw::serve
