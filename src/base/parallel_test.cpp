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

}  // namespace
}  // namespace gw
