#pragma once
/// serve: the page and its API, for a browser on this machine alone.
/// Start from: Site (site.hpp), the guard before every handler; routes() (page.hpp), what is
/// served; Books (books.hpp), the records it writes in; Server (server.hpp), the socket. Handlers
/// know Request and Response and no HTTP library. Sources: RFC 9110 and 9112 (HTTP), RFC 6265
/// (cookies), the HTML standard 9.2 (events).
#include "serve/page.hpp"
#include "serve/server.hpp"
#include "serve/site.hpp"
