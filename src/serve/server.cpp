#include "serve/server.hpp"

#include <fmt/format.h>

#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>
#include <optional>

#include "serve/conversation.hpp"

namespace gw::serve {

namespace asio = boost::asio;
using tcp = asio::ip::tcp;
using Code = boost::system::error_code;

struct Server::Impl {
    // Before `io`: conversations that still wait in it at its end use both.
    std::set<Conversation*> open;
    Shared shared;
    asio::io_context io{1};
    tcp::acceptor acceptor{io};
    asio::steady_timer deadline{io}, pause{io};
    std::optional<asio::signal_set> signals;

    explicit Impl(ServerOptions const& options) : shared(io, options, open) {}
    ~Impl() {
        signals.reset();
        shared.workers.join();
        shared.uploads.forget();
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
                begin_conversation(std::move(socket), shared);
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
