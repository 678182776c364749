#pragma once
/// For tests: the whole API without a socket, over records in a folder of their own.
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "serve/api_document.hpp"
#include "serve/page.hpp"
#include "serve/schema_check.hpp"

namespace gw::serve {

class ApiFixture : public testing::Test {
  protected:
    static constexpr std::uint16_t port = 4711;
    std::filesystem::path folder = std::filesystem::path(testing::TempDir()) /
                                   ("gaswright-api-" + std::to_string(::getpid()) + "-" +
                                    testing::UnitTest::GetInstance()->current_test_info()->name());
    App app = made();
    int drawn = 0;
    Sessions sessions{[this] { return "word" + std::to_string(++drawn); }};
    Site site{routes(app, sessions), sessions, port};
    std::string cookie;
    SchemaCheck agrees{api_document()};

    App made() {
        std::filesystem::remove_all(folder);
        App out{std::async(std::launch::deferred, desk::demo_visit).share(), "1.2.3", port, {}};
        out.now = [] { return Instant{1'780'000'000'000, 0}; };
        out.user = "A. Person";
        out.books = std::make_shared<Books>(
            Books::Options{(folder / "record.db").string(), out.now, out.hub});
        out.judged = std::make_shared<JudgedVisits>(out.books);
        out.keys = std::make_shared<KeyFolder>((folder / "keys").string());
        out.key_cost = desk::Cost::least;
        out.demo_record = std::async(std::launch::deferred, desk::DemoRecord::make).share();
        out.jobs = std::make_shared<Jobs>(out.hub);
        return out;
    }
    void SetUp() override {
        auto const reply = call(Method::post, "/api/v1/session", R"({"ticket":"word1"})");
        ASSERT_EQ(reply.status, 200);
        auto const set = std::string(reply.header("set-cookie"));
        cookie = set.substr(0, set.find(';'));
    }
    void TearDown() override { std::filesystem::remove_all(folder); }

    Response call(Method method,
                  std::string target,
                  std::string body = "",
                  std::string type = "application/json") {
        Request request;
        request.method = method;
        request.target = std::move(target);
        request.body = std::move(body);
        request.headers = {{"host", "127.0.0.1:4711"}, {"content-type", std::move(type)}};
        if (method == Method::post) request.headers.emplace_back("origin", "http://127.0.0.1:4711");
        if (!cookie.empty()) request.headers.emplace_back("cookie", cookie);
        return site.answer(request);
    }
    Response get(std::string target) { return call(Method::get, std::move(target)); }
    Response post(std::string target, Json const& body) {
        return call(Method::post, std::move(target), body.dump());
    }
    /// The body of a reply after it was held against its description.
    Json held(Response const& reply, std::string const& path, std::string const& method = "get") {
        auto const& responses = agrees.document()["paths"][path][method]["responses"];
        auto const& described = responses[reply.status == 200 ? "200" : "default"];
        auto body = Json::parse(reply.body);
        auto const complaints = agrees(body, described["content"]["application/json"]["schema"]);
        EXPECT_TRUE(complaints.empty()) << path << "\n"
                                        << (complaints.empty() ? "" : complaints.front());
        return body;
    }
};

}  // namespace gw::serve
