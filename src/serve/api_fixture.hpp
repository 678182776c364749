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

/// The API over an App of the test's choice; nobody is logged in yet.
class ApiCaller : public testing::Test {
  protected:
    explicit ApiCaller(App of) : app(std::move(of)) {}

    static constexpr std::uint16_t port = 4711;
    App app;
    int drawn = 0;
    Sessions sessions{[this] { return "word" + std::to_string(++drawn); }};
    Site site{routes(app, sessions), sessions, port};
    std::string cookie;
    SchemaCheck agrees{api_document()};

    using Told = std::shared_future<Result<desk::DemoVisit>>;
    /// With a record at `file`; watched: windows are told when it grows.
    static App app_at(std::string file, Told told, bool watched) {
        App out{std::move(told), "1.2.3", port, desk::demo_outline().value_or(Json())};
        out.now = [] { return Instant{1'780'000'000'000, 0}; };
        out.user = "A. Person";
        out.books = std::make_shared<Books>(
            Books::Options{std::move(file), out.now, watched ? out.hub : nullptr});
        out.judged = std::make_shared<JudgedVisits>(out.books, out.hub);
        out.jobs = std::make_shared<Jobs>(out.hub);
        return out;
    }
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
    void log_in() {
        auto const reply = post("/api/v1/session", Json{{"ticket", "word1"}});
        ASSERT_EQ(reply.status, 200);
        auto const set = std::string(reply.header("set-cookie"));
        EXPECT_NE(set.find("HttpOnly"), std::string::npos);
        EXPECT_NE(set.find("SameSite=Strict"), std::string::npos);
        cookie = set.substr(0, set.find(';'));
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

/// The same over records in a folder of the test's own, logged in.
class ApiFixture : public ApiCaller {
  protected:
    ApiFixture() : ApiCaller(made()) {}
    std::filesystem::path folder = own_folder();

    static std::filesystem::path own_folder() {
        return std::filesystem::path(testing::TempDir()) /
               ("gaswright-api-" + std::to_string(::getpid()) + "-" +
                testing::UnitTest::GetInstance()->current_test_info()->name());
    }
    static App made() {
        std::filesystem::remove_all(own_folder());
        auto out = app_at((own_folder() / "record.db").string(),
                          std::async(std::launch::deferred, desk::demo_visit).share(),
                          true);
        out.keys = std::make_shared<KeyFolder>((own_folder() / "keys").string());
        out.key_cost = desk::Cost::least;
        out.demo_record = std::async(std::launch::deferred, desk::DemoRecord::make).share();
        return out;
    }
    void SetUp() override { log_in(); }
    void TearDown() override { std::filesystem::remove_all(folder); }
};

}  // namespace gw::serve
