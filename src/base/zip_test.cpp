#include "base/zip.hpp"

#include <gtest/gtest.h>

#include <functional>

#include "base/random.hpp"

namespace gw {
namespace {

std::vector<ZipMember> members() {
    std::string numbers, noise;
    for (int i = 0; i < 3000; ++i) numbers += std::to_string(i % 97) + ",";
    RandomStream random(7, 1);
    for (int i = 0; i < 500; ++i) noise += static_cast<char>(256 * random.uniform());
    return {{"README.txt", "a few words\n"},
            {"runs/a.csv", numbers},
            {"runs/noise", noise},
            {"empty", ""}};
}

std::string archive() { return zip_archive(members()).value(); }

TEST(Zip, GivesBackWhatItTook) {
    auto const bytes = archive();
    EXPECT_EQ(bytes, archive()) << "the same members, the same bytes";
    auto const read = read_zip(bytes, "z").value();
    EXPECT_EQ(read.oddity, "");
    EXPECT_TRUE(read.damaged.empty());
    auto const wanted = members();
    ASSERT_EQ(read.members.size(), wanted.size());
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        EXPECT_EQ(read.members[i].name, wanted[i].name);
        EXPECT_EQ(read.members[i].bytes, wanted[i].bytes);
    }
    EXPECT_LT(bytes.size(), 3000U + 500U);
    EXPECT_TRUE(read_zip(zip_archive({}).value(), "z")->members.empty());
}

// The claim that stands in the documents: no byte changes unseen, wherever it lies.
TEST(Zip, EveryChangedByteIsFound) {
    auto const bytes = archive();
    for (std::size_t i = 0; i < bytes.size(); ++i)
        for (unsigned const flip : {1U, 0x80U}) {
            auto other = bytes;
            other[i] = static_cast<char>(static_cast<unsigned char>(other[i]) ^ flip);
            auto const read = read_zip(other, "z");
            EXPECT_TRUE(!read || !read->damaged.empty() || !read->oddity.empty()) << i;
        }
}

TEST(Zip, EveryCutAndEveryAdditionIsFound) {
    auto const bytes = archive();
    for (std::size_t i = 0; i < bytes.size(); ++i)
        EXPECT_FALSE(read_zip(bytes.substr(0, i), "z")) << i;
    for (auto const& other : {bytes + "x", "x" + bytes}) {
        auto const read = read_zip(other, "z");
        EXPECT_TRUE(!read || !read->oddity.empty());
    }
}

std::string changed(std::function<void(std::string&)> const& change) {
    auto bytes = zip_archive({{"one.txt", "aaaa"}, {"two.txt", "bbbb"}}).value();
    change(bytes);
    return bytes;
}
void replace_all(std::string& bytes, std::string const& from, std::string const& to) {
    for (auto at = bytes.find(from); at != std::string::npos; at = bytes.find(from, at + to.size()))
        bytes.replace(at, from.size(), to);
}

TEST(Zip, HostileOnesAreRefusedInOneSentence) {
    struct Row {
        char const* what;
        std::string bytes;
        char const* says;
    };
    std::vector<Row> const rows = {
        {"nothing", "", "no zip"},
        {"garbage", std::string(500, 'x'), "no zip"},
        {"a name that climbs",
         changed([](std::string& z) { replace_all(z, "one.txt", "../.txt"); }),
         "leads out"},
        {"a root",
         changed([](std::string& z) { replace_all(z, "one.txt", "/ne.txt"); }),
         "leads out"},
        {"a backslash",
         changed([](std::string& z) { replace_all(z, "one.txt", "a\\b.txt"); }),
         "other signs"},
        {"a drive",
         changed([](std::string& z) { replace_all(z, "one.txt", "C:x.txt"); }),
         "other signs"},
        {"the same name twice",
         changed([](std::string& z) { replace_all(z, "one.txt", "two.txt"); }),
         "twice"},
        {"the same name in another case",
         changed([](std::string& z) { replace_all(z, "one.txt", "TWO.txt"); }),
         "twice"},
        {"another name before the bytes",
         changed([](std::string& z) { z.replace(z.find("one.txt"), 7, "six.txt"); }),
         "called otherwise"},
        {"a link",
         changed([](std::string& z) {
             auto const line = z.find("PK\x01\x02");
             z[line + 41] = static_cast<char>(0xA1);  // 0120000: a symbolic link
         }),
         "link"},
        {"encrypted",
         changed([](std::string& z) { z[z.find("PK\x01\x02") + 8] = 1; }),
         "encrypted"},
        {"a bomb",
         changed([](std::string& z) {
             auto const line = z.find("PK\x01\x02");
             z.replace(line + 24, 4, std::string("\xF0\xFF\xFF\x7F", 4));
         }),
         "promises"},
        {"two lines for the same bytes",
         changed([](std::string& z) {
             auto const line = z.find("PK\x01\x02", z.find("PK\x01\x02") + 4);
             auto const first = z.find("PK\x01\x02");
             z.replace(line + 42, 4, z.substr(first + 42, 4));
         }),
         "called otherwise"},
    };
    for (auto const& row : rows) {
        auto const read = read_zip(row.bytes, "z");
        ASSERT_FALSE(read) << row.what;
        EXPECT_NE(read.error().what.find(row.says), std::string::npos)
            << row.what << ": " << read.error().what;
    }
}

// A stream that gives more than the directory says stops there.
TEST(Zip, UnpacksNoMoreThanPromised) {
    auto bytes = zip_archive({{"zeros", std::string(5000000, '\0')}}).value();
    auto const line = bytes.find("PK\x01\x02");
    bytes.replace(line + 24, 4, std::string("\x10\0\0\0", 4));  // 16 bytes
    auto const read = read_zip(bytes, "z");
    ASSERT_TRUE(read);
    ASSERT_EQ(read->damaged.size(), 1U);
    EXPECT_TRUE(read->members.front().bytes.empty());
    ZipLimits small;
    small.total_bytes = 1000;
    EXPECT_FALSE(read_zip(zip_archive({{"zeros", std::string(5000, '\0')}}).value(), "z", small));
    small = {};
    small.members = 1;
    EXPECT_FALSE(read_zip(archive(), "z", small));
}

// Deflate shrinks to a thousandth at best (RFC 1951: 258 bytes from two bits): more is a lie.
TEST(Zip, RefusesAPromiseThatNoPackingCouldKeep) {
    auto bytes = zip_archive({{"zeros", std::string(5000000, '\0')}}).value();
    auto const line = bytes.find("PK\x01\x02");
    bytes.replace(line + 24, 4, std::string("\0\0\0\x3f", 4));
    auto const read = read_zip(bytes, "z");
    ASSERT_FALSE(read);
    EXPECT_NE(read.error().what.find("promises"), std::string::npos) << read.error().what;
}

TEST(Zip, RefusesToWriteWhatItWouldNotRead) {
    EXPECT_FALSE(zip_archive({{"../x", ""}}));
    EXPECT_FALSE(zip_archive({{"a", ""}, {"A", ""}}));
    EXPECT_FALSE(zip_archive({{"with blank", ""}}));
    EXPECT_FALSE(zip_archive({{"", ""}}));
}

}  // namespace
}  // namespace gw
