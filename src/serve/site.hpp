#pragma once
/// The guard before every handler: which requests are answered at all, and with what headers.
#include <cstddef>
#include <cstdint>

#include "serve/routes.hpp"
#include "serve/session.hpp"

namespace gw::serve {

class Site {
  public:
    /// port: where the browser reaches us; it is part of the Host and of the cookie's name, because
    /// cookies of one host are shared by all its ports.
    Site(Routes routes, Sessions& sessions, std::uint16_t port);

    /// Refuses, in this order: a foreign or doubled Host (403, 400), a foreign Origin (403), a
    /// method other than GET, HEAD, POST (405), a path with tricks in it (400), an /api/ call from
    /// another site (403) or without the session (401), an unknown path (404), a known path under
    /// another method (405). Never throws.
    /// What takes its time comes back as `later`; it may be called after this Site has forgotten
    /// the request.
    Answer consider(Request request) const;
    Response answer(Request request) const;  ///< the same, waited for

    /// How long a body may be that follows this head: a stranger's is short.
    [[nodiscard]] std::size_t longest_body(Request head) const;

    [[nodiscard]] std::string address() const;  ///< with the ticket, for the one who started it

  private:
    [[nodiscard]] Answer guarded(Request request) const;
    Routes routes_;
    Sessions* sessions_;
    std::string host_, localhost_;
    std::string cookie_;
};

/// Name of the cookie that carries the session, and the header that sets it.
std::string cookie_name(std::uint16_t port);
std::string set_cookie(std::uint16_t port, std::string_view session);

}  // namespace gw::serve
