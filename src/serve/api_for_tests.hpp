#pragma once
/// For tests: the whole API over an empty record, with a session, each reply held against its
/// description.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "serve/api_document.hpp"
#include "serve/page.hpp"
#include "serve/schema_check.hpp"

namespace gw::serve {

class ApiForTests : public testing::Test {
  protected:
    static constexpr std::uint16_t port = 4711;

    static App made() {
        App app{{}, "1.2.3", port, Json::object()};
        app.now = [] { return Instant{1'780'000'000'000, 0}; };
        app.user = "A. Person";
        app.books = std::make_shared<Books>(Books::Options{
            testing::TempDir() + "/gaswright-api-test-of-nothing.db", app.now, nullptr});
        app.jobs = std::make_shared<Jobs>(app.hub);
        return app;
    }
    App app = made();
    int drawn = 0;
    Sessions sessions{[this] { return "word" + std::to_string(++drawn); }};
    Site site{routes(app, sessions), sessions, port};
    std::string cookie;
    SchemaCheck agrees{api_document()};

    void SetUp() override {
        auto const session = *sessions.exchange("word1");
        cookie = cookie_name(port) + "=" + session;
    }
    Response call(Method method,
                  std::string target,
                  std::string body = "",
                  std::string type = "application/json",
                  bool known = true) {
        Request request;
        request.method = method;
        request.target = std::move(target);
        request.body = std::move(body);
        request.headers = {{"host", "127.0.0.1:4711"},
                           {"origin", "http://127.0.0.1:4711"},
                           {"content-type", std::move(type)}};
        if (known) request.headers.emplace_back("cookie", cookie);
        return site.answer(request);
    }
    Response get(std::string target) { return call(Method::get, std::move(target)); }
    Response post(std::string target, Json const& body) {
        return call(Method::post, std::move(target), body.dump());
    }
    Response upload(std::string target, std::string bytes) {
        return call(Method::post, std::move(target), std::move(bytes), "application/octet-stream");
    }
    /// The body after it was held against the description of that path.
    Json held(Response const& reply, std::string const& path, std::string const& method) {
        auto const& document = agrees.document();
        EXPECT_TRUE(document["paths"].contains(path)) << path;
        if (!document["paths"].contains(path)) return {};
        auto const& responses = document["paths"][path][method]["responses"];
        auto const& described = responses[reply.status == 200 ? "200" : "default"];
        auto body = Json::parse(reply.body);
        auto const complaints = agrees(body, described["content"]["application/json"]["schema"]);
        EXPECT_TRUE(complaints.empty()) << path << "\n"
                                        << (complaints.empty() ? "" : complaints.front());
        return body;
    }
    Json data(Response const& reply, std::string const& path, std::string const& method = "post") {
        EXPECT_EQ(reply.status, 200) << reply.body.substr(0, 300);
        auto body = held(reply, path, method);
        return body.contains("data") ? body["data"] : Json();
    }
};

}  // namespace gw::serve
