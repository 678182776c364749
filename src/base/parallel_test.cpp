#include "base/parallel.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace gw {
namespace {

TEST(ParallelMap, GivesTheSameAnswerOnAnyNumberOfThreads) {
    auto const square = [](std::size_t i) { return i * i; };
    auto const plain = parallel_map(1000, square, {1, 1});
    for (unsigned const threads : {2U, 7U})
        EXPECT_EQ(parallel_map(1000, square, {threads, 13}), plain);
    EXPECT_TRUE(parallel_map(0, square).empty());
}

TEST(ParallelMap, ThrowsTheFirstProblemByIndex) {
    auto const work = [](std::size_t i) -> int {
        if (i == 30 || i == 70) throw std::runtime_error(std::to_string(i));
        return 0;
    };
    try {
        parallel_map(100, work, {4, 1});
        FAIL() << "nothing was thrown";
    } catch (std::runtime_error const& error) {
        EXPECT_STREQ(error.what(), "30");
    }
}

TEST(ParallelStream, ConsumesInOrderWhateverTheThreads) {
    for (unsigned const threads : {1U, 2U, 7U}) {
        std::vector<std::size_t> seen;
        parallel_stream(
            3,
            500,
            [](std::size_t i) { return i * i; },
            [&](std::size_t i, std::size_t square) {
                EXPECT_EQ(square, i * i);
                seen.push_back(i);
                return i < 400;
            },
            threads);
        ASSERT_EQ(seen.size(), 398U);
        for (std::size_t k = 0; k < seen.size(); ++k) EXPECT_EQ(seen[k], k + 3);
    }
}

TEST(ParallelStream, HandsAnExceptionOnFromEitherSide) {
    auto const fine = [](std::size_t i) { return i; };
    EXPECT_THROW(parallel_stream(
                     0,
                     100,
                     [](std::size_t i) -> std::size_t {
                         if (i == 40) throw std::runtime_error("work");
                         return i;
                     },
                     [](std::size_t, std::size_t) { return true; },
                     3),
                 std::runtime_error);
    EXPECT_THROW(parallel_stream(
                     0,
                     100,
                     fine,
                     [](std::size_t i, std::size_t) -> bool {
                         if (i == 40) throw std::runtime_error("consume");
                         return true;
                     },
                     3),
                 std::runtime_error);
}

}  // namespace
}  // namespace gw
