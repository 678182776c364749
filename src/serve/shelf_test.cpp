#include "serve/shelf.hpp"

#include <gtest/gtest.h>

namespace gw::serve {
namespace {

TEST(Shelf, LetsGoOfWhatWasNotAskedForTheLongest) {
    Shelf<std::string> shelf(100);
    shelf.keep("a", "first", 40);
    shelf.keep("b", "second", 40);
    ASSERT_TRUE(shelf.find("a"));
    shelf.keep("c", "third", 40);
    EXPECT_TRUE(shelf.find("a")) << "it was asked for";
    EXPECT_FALSE(shelf.find("b"));
    EXPECT_EQ(*shelf.find("c"), "third");
}

TEST(Shelf, KeepsTheNewestHoweverLarge) {
    Shelf<int> shelf(10);
    shelf.keep("a", 1, 5);
    auto const held = shelf.find("a");
    shelf.keep("b", 2, 1000);
    EXPECT_FALSE(shelf.find("a"));
    EXPECT_EQ(*held, 1) << "whoever holds it keeps it";
    EXPECT_EQ(*shelf.find("b"), 2);
    shelf.keep("b", 3, 5);
    shelf.keep("c", 4, 5);
    EXPECT_EQ(*shelf.find("b"), 3) << "what was kept anew counts once";
}

TEST(Shelf, MakesRoomBeforeSomethingIsRead) {
    Shelf<int> shelf(100);
    shelf.keep("a", 1, 40);
    shelf.keep("b", 2, 40);
    shelf.make_room(20);
    EXPECT_TRUE(shelf.find("a")) << "it fits";
    shelf.make_room(50);
    EXPECT_FALSE(shelf.find("b")) << "the longest unasked goes";
    EXPECT_TRUE(shelf.find("a"));
    shelf.make_room(1000);
    EXPECT_FALSE(shelf.find("a"));
}

}  // namespace
}  // namespace gw::serve
