#include "serve/spool.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>

namespace gw::serve {
namespace {

std::size_t files_in(std::filesystem::path const& folder) {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder),
                                                  std::filesystem::directory_iterator()));
}

struct Spool : testing::Test {
    Spool() {
        auto pattern = testing::TempDir() + "gw_spool_XXXXXX";
        folder = ::mkdtemp(pattern.data());
    }
    ~Spool() override { std::filesystem::remove_all(folder); }
    std::filesystem::path folder;
};

TEST_F(Spool, KeepsBytesInAFileThatNobodySees) {
    auto file = nameless_file(folder.string());
    ASSERT_TRUE(file) << file.error().what;
    EXPECT_EQ(files_in(folder), 0U) << "nothing to be left behind by a kill";
    struct stat facts {};
    ASSERT_EQ(::fstat(file->descriptor(), &facts), 0);
    EXPECT_EQ(facts.st_mode & 0777U, 0600U);
    std::string const bytes(100'000, 'x');
    ASSERT_EQ(::write(file->descriptor(), bytes.data(), bytes.size()),
              static_cast<ssize_t>(bytes.size()));
    auto const mapped = Mapped::of(*std::move(file));
    ASSERT_TRUE(mapped) << mapped.error().what;
    EXPECT_EQ((*mapped)->bytes(), bytes);
    (*mapped)->let_go(bytes.size());
    EXPECT_EQ((*mapped)->bytes(), bytes) << "it comes again by itself";
}

TEST_F(Spool, StandsInForAFolderThatIsNotThereYet) {
    auto const file = nameless_file((folder / "not" / "yet").string());
    EXPECT_TRUE(file);
    EXPECT_EQ(files_in(folder), 0U) << "and makes none";
}

TEST_F(Spool, MapsNothingAsNothing) {
    auto file = nameless_file(folder.string());
    ASSERT_TRUE(file);
    auto const mapped = Mapped::of(*std::move(file));
    ASSERT_TRUE(mapped);
    EXPECT_TRUE((*mapped)->bytes().empty());
    (*mapped)->let_go(10);
}

}  // namespace
}  // namespace gw::serve
