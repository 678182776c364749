#pragma once
/// The socket. Who listens: server.cpp; who speaks: connection.cpp, the one file that knows
/// Boost.Beast.
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "base/result.hpp"
#include "serve/http.hpp"

namespace gw::serve {

struct ServerOptions {
    std::uint16_t port = 0;                           ///< 0: any free port
    std::chrono::milliseconds patience{10'000};       ///< for a whole request, and between two
    std::chrono::milliseconds farewell{600};          ///< for answers under way when asked to stop
    std::size_t most_connections = 64;                ///< a page and its events take under ten
    std::size_t longest_header = 8 * 1024UL;          ///< bytes
    std::size_t longest_body = 16 * 1024UL;           ///< bytes, where nobody says otherwise
    std::chrono::milliseconds patience_body{60'000};  ///< for a body: a file of many megabytes
    unsigned workers = 3;                             ///< threads for answers that take their time
    std::size_t most_in_memory = 1024 * 1024UL;       ///< bytes; a longer body goes into a file
    std::size_t most_spooled = 128UL << 20;           ///< bytes, of all such files under way
    std::string spool_folder = ".";                   ///< where they are: beside the record
};

/// Who answers.
struct Answerer {
    std::function<std::size_t(Request const& head)> longest_body;  ///< asked before a body is read
    std::function<Answer(Request)> answer;
};

/// Listens on 127.0.0.1 only. One thread hears and speaks; what takes its time is done by workers.
class Server {
  public:
    /// Fails with io when the port cannot be had.
    static Result<Server> listen(ServerOptions const& options);
    Server(Server&&) noexcept;
    Server& operator=(Server&&) noexcept;
    ~Server();

    [[nodiscard]] std::uint16_t port() const;
    /// Answers until SIGTERM, SIGINT or stop(); then ends what is under way and returns.
    void run(Answerer answerer);
    void run(std::function<Response(Request)> answer);  ///< everything at once
    void stop();                                        ///< from any thread

  private:
    struct Impl;
    explicit Server(std::unique_ptr<Impl> impl);
    std::unique_ptr<Impl> impl_;
};

}  // namespace gw::serve
