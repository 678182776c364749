#include "serve/books.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <thread>

#include "desk/visit.hpp"

namespace gw::serve {
namespace {

class BooksTest : public testing::Test {
  protected:
    std::filesystem::path folder =
        std::filesystem::path(testing::TempDir()) / ("books-" + std::to_string(::getpid()));
    std::shared_ptr<EventHub> hub = std::make_shared<EventHub>();
    std::unique_ptr<Books> books;
    visit::Act act{"A. Person", Instant{1'780'000'000'000, 0}, {}};

    void SetUp() override {
        std::filesystem::remove_all(folder);
        books = std::make_unique<Books>(Books::Options{(folder / "record.db").string(),
                                                       [] {
                                                           return Instant{1'780'000'000'000, 0};
                                                       },
                                                       hub});
    }
    void TearDown() override {
        books.reset();
        std::filesystem::remove_all(folder);
    }
    std::string opened(Book book) {
        auto const store = books->write(book);
        EXPECT_TRUE(store) << store.error().what;
        return desk::start_visit(**store, {"exchange", "PX-1", "", "", "", ""}, act).value_or("");
    }
};

TEST_F(BooksTest, MakesNothingByReading) {
    auto const store = books->read(Book::own);
    ASSERT_TRUE(store);
    EXPECT_TRUE((*store)->visits({})->empty());
    EXPECT_FALSE(books->exists(Book::own));
}

TEST_F(BooksTest, KeepsTheInventedApart) {
    auto const own = opened(Book::own), invented = opened(Book::invented);
    EXPECT_EQ(*books->book_of_visit(own), Book::own);
    EXPECT_EQ(*books->book_of_visit(invented), Book::invented);
    EXPECT_EQ(*books->book_of_visit("none"), Book::own);
    EXPECT_EQ((*books->read(Book::own))->visits({})->size(), 1U);
    EXPECT_EQ((*books->read(Book::invented))->visits({})->size(), 1U);
}

TEST_F(BooksTest, TellsOfWhatOthersWroteToo) {
    opened(Book::own);
    books->look();
    std::vector<std::string> heard;
    auto const ear = hub->listen([&](auto event) { heard.push_back(*event); });
    Books other(Books::Options{books->file(Book::own),
                               [] {
                                   return Instant{1'780'000'000'000, 0};
                               },
                               nullptr});
    {
        auto const store = other.write(Book::own);
        ASSERT_TRUE(store);
        ASSERT_TRUE(desk::start_visit(**store, {"exchange", "PX-2", "", "", "", ""}, act));
    }
    books->look();
    books->look();
    ASSERT_FALSE(heard.empty());
    EXPECT_NE(heard[0].find("analyser:PX-2"), std::string::npos) << heard[0];
    EXPECT_EQ(heard.size(), 1U) << "what was told is not told again";
}

TEST_F(BooksTest, ServesSeveralThreads) {
    std::vector<std::thread> threads;
    for (int i = 0; i < 4; ++i)
        threads.emplace_back([this] {
            for (int n = 0; n < 5; ++n) EXPECT_FALSE(opened(Book::own).empty());
        });
    for (auto& thread : threads) thread.join();
    EXPECT_EQ((*books->read(Book::own))->visits({})->size(), 20U);
}

}  // namespace
}  // namespace gw::serve
