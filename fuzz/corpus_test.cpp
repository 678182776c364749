// In every build the fuzz target runs over its corpus: a find, once kept, stays found.
#include <gtest/gtest.h>

#include <cstdint>
#include <filesystem>
#include <string>

#include "base/file.hpp"

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* bytes, std::size_t size);

namespace {

TEST(FuzzCorpus, EveryFileKeepsThePromises) {
    int files = 0;
    for (auto const& entry : std::filesystem::directory_iterator(GW_CORPUS)) {
        SCOPED_TRACE(entry.path().string());
        auto const bytes = gw::read_file(entry.path().string());
        ASSERT_TRUE(bytes);
        EXPECT_EQ(LLVMFuzzerTestOneInput(reinterpret_cast<std::uint8_t const*>(bytes->data()),
                                         bytes->size()),
                  0);
        ++files;
    }
    EXPECT_GE(files, 5) << "a corpus of nothing proves nothing";
}

}  // namespace
