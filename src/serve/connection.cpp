// One connection: requests in, answers out. The one file that knows Boost.Beast.
#include <malloc.h>

#include <boost/asio/post.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <limits>
#include <optional>

#include "base/text.hpp"
#include "serve/conversation.hpp"
#include "serve/event_pipe.hpp"
#include "serve/spool.hpp"

namespace gw::serve {

namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using tcp = asio::ip::tcp;
using Code = beast::error_code;
using Head = http::request_parser<http::empty_body>;
using Short = http::request_parser<http::string_body>;  // a body that is held in memory
using Long = http::request_parser<http::file_body>;     // one that goes into a file

Method method_of(http::verb verb) {
    switch (verb) {
        case http::verb::get:
            return Method::get;
        case http::verb::head:
            return Method::head;
        case http::verb::post:
            return Method::post;
        default:
            return Method::other;
    }
}

// Without the body.
template <class Message>
Request request_of(Message const& message) {
    Request out;
    out.method = method_of(message.method());
    out.target = std::string(message.target());
    for (auto const& field : message)
        out.headers.emplace_back(lowered({field.name_string().data(), field.name_string().size()}),
                                 std::string(field.value()));
    return out;
}

// Of the disk, not of the network.
bool is_full(Code const& error) {
    namespace errc = boost::system::errc;
    return error == errc::no_space_on_device || error == errc::file_too_large ||
           error == errc::io_error;
}

class Connection : public Conversation, public std::enable_shared_from_this<Connection> {
  public:
    Connection(tcp::socket socket, Shared& shared) : stream_(std::move(socket)), shared_(shared) {
        shared_.open.insert(this);
    }
    ~Connection() override { shared_.open.erase(this); }

    void read() {
        head_.emplace();
        head_->header_limit(static_cast<std::uint32_t>(shared_.options.longest_header));
        head_->body_limit(std::numeric_limits<std::int64_t>::max());  // set when the head is known
        stream_.expires_after(shared_.options.patience);
        idle_ = true;
        http::async_read_header(
            stream_, buffer_, *head_, [self = shared_from_this()](Code e, auto) {
                self->idle_ = false;
                self->on_head(e);
            });
    }

    void stop() override {
        if (idle_ || pipe_) close();
    }

  private:
    // How much may follow, and where it goes, is settled by who asks for what, before a byte of it
    // is taken.
    void on_head(Code error) {
        if (error) return refuse(error);
        auto const& options = shared_.options;
        auto const longest = shared_.answerer.longest_body(request_of(head_->get()));
        auto const stated = head_->content_length();
        if (stated && *stated > longest) return refuse(http::error::body_limit);
        stream_.expires_after(longest > options.longest_body ? options.patience_body
                                                             : options.patience);
        bool const is_short =
            longest <= options.most_in_memory || (stated && *stated <= options.most_in_memory);
        if (!is_short) return read_long(stated ? *stated : longest, longest);
        short_.emplace(std::move(*head_));
        short_->body_limit(longest);
        http::async_read(stream_, buffer_, *short_, [self = shared_from_this()](Code e, auto) {
            if (e) return self->refuse(e);
            auto request = request_of(self->short_->get());
            request.body = std::move(self->short_->get().body());
            self->answer(self->short_->get(), std::move(request));
        });
    }

    void read_long(std::size_t size, std::size_t longest) {
        room_ = shared_.uploads.room(size);
        if (!room_)
            return turn_away(Error{Errc::busy,
                                   "Too much is being sent at once.",
                                   "body",
                                   "wait until the other files are through, then send it again"});
        auto file = nameless_file(shared_.options.spool_folder);
        if (!file) return turn_away(file.error());
        long_.emplace(std::move(*head_));
        long_->body_limit(longest);
        beast::file_posix handle;
        handle.native_handle(file->released());
        Code error;
        long_->get().body().reset(std::move(handle), error);
        if (error) return refuse(error);
        http::async_read(stream_, buffer_, *long_, [self = shared_from_this()](Code e, auto) {
            self->on_long(e);
        });
    }

    void on_long(Code error) {
        if (is_full(error))
            return turn_away(Error{Errc::io,
                                   "There is no room on the disk for what is sent.",
                                   shared_.options.spool_folder,
                                   "make room, then send it again"});
        if (error) return refuse(error);
        auto& message = long_->get();
        auto request = request_of(message);
        NamelessFile file(::dup(message.body().file().native_handle()));
        message.body().close();
        auto mapped = Mapped::of(std::move(file));
        if (!mapped) return turn_away(mapped.error());
        request.spooled = *std::move(mapped);
        answer(message, std::move(request));
    }

    template <class Message>
    void answer(Message const& message, Request request) {
        head_only_ = message.method() == http::verb::head;
        keep_alive_ = message.keep_alive() && !shared_.stopping;
        bool const is_long = request.spooled != nullptr;
        auto made = shared_.answerer.answer(std::move(request));
        if (!made.later) return send(std::move(made.now));
        stream_.expires_never();  // the work sets its own pace
        if (!is_long) return work(std::move(made.later), [] {});
        shared_.uploads.in_turn(
            [self = shared_from_this(), later = std::move(made.later)]() mutable {
                self->work(std::move(later), [&shared = self->shared_] { shared.uploads.done(); });
            });
    }

    // `then`: on the thread that speaks, once the work is done.
    void work(std::function<Response()> later, std::function<void()> then) {
        bool const is_long = room_ != nullptr;
        asio::post(
            shared_.workers,
            [self = shared_from_this(),
             is_long,
             later = std::move(later),
             then = std::move(then)]() mutable {
                auto made = std::make_shared<Response>(later());
                later = {};  // and with it what was sent
                // What a large file took is given back to the system, not kept for the next.
                if (is_long) ::malloc_trim(0);
                auto& io = self->shared_.io;
                // The last to let go of a connection must be the thread that owns it.
                asio::post(
                    io, [self = std::move(self), made = std::move(made), then = std::move(then)] {
                        self->room_.reset();
                        then();
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
        say_last(
            problem(Problem{status,
                            "bad_request",
                            status == 400 ? "This is not a request." : "The request is too large.",
                            "request",
                            "",
                            {}}));
    }

    void turn_away(Error const& why) { say_last(problem(why)); }

    // One who is still sending is told why, and heard no further.
    void say_last(Response response) {
        long_.reset();
        room_.reset();
        head_only_ = keep_alive_ = false;
        lingers_ = true;
        send(std::move(response));
    }

    void send(Response response) {
        long_.reset();
        short_.reset();
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
            stream_.expires_never();
            pipe_ = std::make_shared<EventPipe>(
                stream_.socket(), shared_, *std::move(events_), weak_from_this(), [this] {
                    close();
                });
            return pipe_->start();
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

    void close() {
        Code ignored;
        if (pipe_) pipe_->end();
        stream_.socket().shutdown(tcp::socket::shutdown_both, ignored);
        stream_.close();
    }

    beast::tcp_stream stream_;
    Shared& shared_;
    beast::flat_buffer buffer_;
    std::optional<Head> head_;
    std::optional<Short> short_;
    std::optional<Long> long_;
    std::shared_ptr<void const> room_;  // what a long body takes of what all may take
    http::response<http::string_body> message_;
    std::optional<http::response_serializer<http::string_body>> serializer_;
    std::optional<EventStream> events_;
    std::shared_ptr<EventPipe> pipe_;
    bool lingers_ = false;
    std::string scrap_;
    bool idle_ = false, head_only_ = false, keep_alive_ = false;
};

}  // namespace

void begin_conversation(tcp::socket socket, Shared& shared) {
    std::make_shared<Connection>(std::move(socket), shared)->read();
}

}  // namespace gw::serve
