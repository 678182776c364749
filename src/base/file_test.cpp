#include "base/file.hpp"

#include <gtest/gtest.h>

#include <filesystem>

namespace gw {
namespace {

TEST(File, WritesWholeFilesAndReadsThemBack) {
    auto const folder = std::filesystem::temp_directory_path() / "gw_file_test";
    std::filesystem::create_directories(folder);
    auto const path = (folder / "a.txt").string();
    ASSERT_TRUE(write_file(path, "one"));
    ASSERT_TRUE(write_file(path, "two"));
    EXPECT_EQ(*read_file(path), "two");
    EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 1)
        << "no left-over part file";
    EXPECT_FALSE(read_file(path, 2)) << "over the size limit";
    std::filesystem::remove_all(folder);
}

TEST(File, TellsAMissingFileFromAFolder) {
    auto const missing = read_file("/nowhere/at/all");
    ASSERT_FALSE(missing);
    EXPECT_EQ(missing.error().code, Errc::io);
    auto const folder = read_file("/tmp");
    ASSERT_FALSE(folder);
    EXPECT_EQ(folder.error().code, Errc::bad_input);
    EXPECT_FALSE(write_file("/nowhere/at/all", "x"));
}

TEST(File, ResolvesPathsBesideTheFileThatNamesThem) {
    EXPECT_EQ(beside("a/b/proof.json", "../c.json"), "a/c.json");
    EXPECT_EQ(beside("proof.json", "c.json"), "c.json");
    EXPECT_EQ(beside("a/proof.json", "/x/c.json"), "/x/c.json");
}

}  // namespace
}  // namespace gw
