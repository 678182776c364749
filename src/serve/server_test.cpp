// The socket itself, by plain system calls: no HTTP library judges its own work here.
#include "serve/server.hpp"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <thread>

namespace gw::serve {
namespace {

class Client {
  public:
    explicit Client(std::uint16_t port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
        timeval const patience{5, 0};
        ::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
        sockaddr_in to{};
        to.sin_family = AF_INET;
        to.sin_port = htons(port);
        to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        EXPECT_EQ(::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to), 0);
    }
    ~Client() { ::close(socket_); }
    Client(Client const&) = delete;
    Client& operator=(Client const&) = delete;

    void send(std::string_view text) const {
        EXPECT_EQ(::send(socket_, text.data(), text.size(), MSG_NOSIGNAL),
                  static_cast<ssize_t>(text.size()));
    }
    /// Until the text holds `mark`; with an empty mark until the other side closes.
    [[nodiscard]] std::string read_until(std::string_view mark) const {
        std::string out;
        char bytes[4096];
        while (mark.empty() || out.find(mark) == std::string::npos) {
            auto const n = ::recv(socket_, bytes, sizeof bytes, 0);
            if (n <= 0) break;
            out.append(bytes, static_cast<std::size_t>(n));
        }
        return out;
    }

  private:
    int socket_;
};

class ServerTest : public testing::Test {
  protected:
    void SetUp() override {
        options.patience = std::chrono::milliseconds(400);
        auto listening = Server::listen(options);
        ASSERT_TRUE(listening) << listening.error().what;
        server = std::make_unique<Server>(std::move(*listening));
        port = server->port();
        thread = std::thread([this] {
            server->run([](Request request) {
                Response out;
                out.body = request.target + "\n";
                out.body += request.content();
                if (request.spooled) out.body += " from a file";
                if (request.target == "/events")
                    out.events =
                        EventStream{"hello\n\n", "beat\n\n", std::chrono::milliseconds(20)};
                return out;
            });
        });
    }
    void TearDown() override {
        if (!thread.joinable()) return;
        server->stop();
        thread.join();
    }
    ServerOptions options;
    std::unique_ptr<Server> server;
    std::uint16_t port = 0;
    std::thread thread;
};

class LongBodies : public ServerTest {
  protected:
    LongBodies() {
        auto pattern = testing::TempDir() + "gw_long_XXXXXX";
        folder = ::mkdtemp(pattern.data());
        options.longest_body = 400'000;
        options.most_in_memory = 1000;
        options.most_spooled = 500'000;
        options.spool_folder = folder.string();
    }
    ~LongBodies() override { std::filesystem::remove_all(folder); }
    [[nodiscard]] bool empty() const { return std::filesystem::is_empty(folder); }
    static std::string head(std::size_t length) {
        return "POST /long HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: " +
               std::to_string(length) + "\r\n\r\n";
    }
    std::filesystem::path folder;
    std::string const bytes = std::string(150'000, 'a') + std::string(150'000, 'b');
};

TEST_F(LongBodies, GoIntoAFileAndLeaveNone) {
    Client const client(port);
    client.send(head(bytes.size()) + bytes.substr(0, 200'000));
    EXPECT_TRUE(empty()) << "no name that a kill would leave behind";
    client.send(bytes.substr(200'000));
    EXPECT_NE(client.read_until("").find("/long\n" + bytes + " from a file"), std::string::npos);
    EXPECT_TRUE(empty());
    Client const small(port);
    small.send(head(3) + "abc");
    EXPECT_TRUE(small.read_until("").ends_with("/long\nabc")) << "a short one stays in memory";
}

TEST_F(LongBodies, OfNoStatedLengthAreBoundedAsWell) {
    std::string const chunked =
        "POST /long HTTP/1.1\r\nHost: x\r\nConnection: close\r\nTransfer-Encoding: "
        "chunked\r\n\r\n";
    auto const chunk = [](std::string const& of) {
        return fmt::format("{:x}\r\n{}\r\n", of.size(), of);
    };
    Client const fits(port), too_much(port);
    fits.send(chunked + chunk(bytes) + "0\r\n\r\n");
    EXPECT_NE(fits.read_until("").find(bytes + " from a file"), std::string::npos);
    too_much.send(chunked + chunk(bytes) + chunk(bytes) + "0\r\n\r\n");
    EXPECT_NE(too_much.read_until("").find(" 413 "), std::string::npos);
    EXPECT_TRUE(empty());
}

TEST_F(LongBodies, AreBoundedTogether) {
    Client const first(port), second(port), third(port);
    first.send(head(bytes.size()) + bytes.substr(0, 1000));
    // Heard before the second: its place is taken.
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    second.send(head(bytes.size()));
    auto const refused = second.read_until("");
    EXPECT_NE(refused.find(" 503 "), std::string::npos) << refused;
    EXPECT_NE(refused.find("Too much is being sent at once."), std::string::npos);
    first.send(bytes.substr(1000));
    EXPECT_NE(first.read_until("").find("from a file"), std::string::npos);
    third.send(head(bytes.size()) + bytes);
    EXPECT_NE(third.read_until("").find("from a file"), std::string::npos) << "room again";
}

TEST_F(ServerTest, AnswersAgainOnOneConnection) {
    Client const client(port);
    client.send("GET /one HTTP/1.1\r\nHost: x\r\n\r\n");
    EXPECT_NE(client.read_until("/one\n").find("HTTP/1.1 200"), std::string::npos);
    client.send(
        "POST /two HTTP/1.1\r\nHost: x\r\nContent-Length: 4\r\nConnection: close\r\n\r\nbody");
    EXPECT_NE(client.read_until("").find("/two\nbody"), std::string::npos);
}

TEST_F(ServerTest, SendsNoBodyToAHead) {
    Client const client(port);
    client.send("HEAD /one HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n");
    auto const reply = client.read_until("");
    EXPECT_NE(reply.find("Content-Length: 5"), std::string::npos) << reply;
    EXPECT_TRUE(reply.ends_with("\r\n\r\n"));
}

TEST_F(ServerTest, RefusesWhatIsTooLargeOrNoRequest) {
    Client const header(port), body(port), garbage(port), null(port);
    header.send("GET / HTTP/1.1\r\nX: " + std::string(9000, 'a'));
    EXPECT_NE(header.read_until("").find(" 431 "), std::string::npos);
    body.send("POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999\r\n\r\n");
    EXPECT_NE(body.read_until("").find(" 413 "), std::string::npos);
    garbage.send("\x16\x03\x01\x02 this is no HTTP\r\n\r\n");
    EXPECT_NE(garbage.read_until("").find(" 400 "), std::string::npos);
    null.send(std::string_view("GET /a\0b HTTP/1.1\r\nHost: x\r\n\r\n", 30));
    EXPECT_NE(null.read_until("").find(" 400 "), std::string::npos);
}

TEST_F(ServerTest, TellsOneWhoIsStillSendingThatItIsTooMuch) {
    Client const client(port);
    client.send("POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999\r\n\r\n");
    std::string const piece(256UL * 1024, 'a');
    for (int i = 0; i < 4; ++i) client.send(piece);
    EXPECT_NE(client.read_until("").find(" 413 "), std::string::npos);
}

TEST_F(ServerTest, LosesPatienceWithASilentClient) {
    Client const client(port);
    client.send("GET / HTTP/1.1\r\nHo");
    EXPECT_EQ(client.read_until(""), "");
}

TEST_F(ServerTest, SendsEventsBesideOtherAnswers) {
    Client const events(port), other(port);
    events.send("GET /events HTTP/1.1\r\nHost: x\r\n\r\n");
    auto const reply = events.read_until("beat\n\nbeat");
    EXPECT_NE(reply.find("hello\n\n"), std::string::npos) << reply;
    other.send("GET /one HTTP/1.1\r\nHost: x\r\n\r\n");
    EXPECT_NE(other.read_until("/one\n").find("200"), std::string::npos);
}

TEST_F(ServerTest, StopsWithinASecondOfTheSignal) {
    Client const events(port), idle(port);
    events.send("GET /events HTTP/1.1\r\nHost: x\r\n\r\n");
    ASSERT_NE(events.read_until("beat").find("hello"), std::string::npos);
    auto const asked = std::chrono::steady_clock::now();
    ::raise(SIGTERM);
    thread.join();
    EXPECT_LT(std::chrono::steady_clock::now() - asked, std::chrono::seconds(1));
    EXPECT_EQ(events.read_until("").find("hello"), std::string::npos) << "nothing after the end";
}

TEST(ServerPort, IsRefusedWhenTaken) {
    auto const first = Server::listen({});
    ASSERT_TRUE(first);
    ServerOptions options;
    options.port = first->port();
    auto const second = Server::listen(options);
    ASSERT_FALSE(second);
    EXPECT_EQ(second.error().code, Errc::io);
    EXPECT_EQ(second.error().where, "--port");
}

}  // namespace
}  // namespace gw::serve
