#pragma once
/// What server.cpp, which listens, and connection.cpp, which speaks, share. Private to the two.
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/thread_pool.hpp>
#include <set>

#include "serve/server.hpp"
#include "serve/uploads.hpp"

namespace gw::serve {

/// Somebody who is connected. It lives as long as something is under way, and takes itself out of
/// the set of those that are open.
class Conversation {
  public:
    Conversation() = default;
    Conversation(Conversation const&) = delete;
    Conversation& operator=(Conversation const&) = delete;
    virtual ~Conversation() = default;
    /// What waits is let go; an answer under way may end.
    virtual void stop() = 0;
};

struct Shared {
    Shared(boost::asio::io_context& loop,
           ServerOptions const& asked,
           std::set<Conversation*>& everybody)
        : io(loop),
          options(asked),
          open(everybody),
          workers(asked.workers),
          uploads(asked.most_spooled) {}
    boost::asio::io_context& io;
    ServerOptions options;
    std::set<Conversation*>& open;
    boost::asio::thread_pool workers;
    Uploads uploads;
    Answerer answerer;
    bool stopping = false;
};

void begin_conversation(boost::asio::ip::tcp::socket socket, Shared& shared);

}  // namespace gw::serve
