#include "serve/uploads.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace gw::serve {
namespace {

TEST(Uploads, AreBoundedTogether) {
    Uploads uploads(100);
    auto first = uploads.room(60);
    ASSERT_TRUE(first);
    EXPECT_FALSE(uploads.room(41));
    auto second = uploads.room(40);
    ASSERT_TRUE(second);
    first.reset();
    EXPECT_FALSE(uploads.room(61));
    EXPECT_TRUE(uploads.room(60));
    EXPECT_FALSE(uploads.room(101)) << "more than ever fits";
}

TEST(Uploads, AreWorkedOnOneAfterTheOther) {
    Uploads uploads(100);
    std::vector<int> begun;
    for (int i = 1; i <= 3; ++i) uploads.in_turn([&begun, i] { begun.push_back(i); });
    EXPECT_EQ(begun, std::vector<int>({1}));
    uploads.done();
    EXPECT_EQ(begun, std::vector<int>({1, 2}));
    uploads.done();
    uploads.done();
    EXPECT_EQ(begun, std::vector<int>({1, 2, 3}));
    uploads.in_turn([&begun] { begun.push_back(4); });
    EXPECT_EQ(begun.back(), 4) << "nobody is under way: at once";
    uploads.in_turn([&begun] { begun.push_back(5); });
    uploads.forget();
    uploads.done();
    EXPECT_EQ(begun.back(), 4);
}

}  // namespace
}  // namespace gw::serve
