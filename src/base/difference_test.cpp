#include "base/difference.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "base/random.hpp"

namespace gw {
namespace {

TEST(Difference, TellsWhatChangedAndNothingElse) {
    EXPECT_TRUE(line_changes("a\nb\n", "a\nb\n").empty());
    EXPECT_TRUE(line_changes("a\r\nb\r\n", "a\nb").empty()) << "line ends are no setting";
    EXPECT_EQ(difference_text(line_changes("a\nb\nc\n", "a\nx\nc\n")), "- b\n+ x\n");
    EXPECT_EQ(difference_text(line_changes("", "a\n")), "+ a\n");
    EXPECT_EQ(difference_text(line_changes("a\nb\nc\nd\n", "b\nd\ne\n")), "- a\n- c\n+ e\n");
}

std::size_t longest_common(std::string const& a, std::string const& b) {
    std::vector<std::vector<std::size_t>> c(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 1; i <= a.size(); ++i)
        for (std::size_t j = 1; j <= b.size(); ++j)
            c[i][j] =
                a[i - 1] == b[j - 1] ? c[i - 1][j - 1] + 1 : std::max(c[i - 1][j], c[i][j - 1]);
    return c[a.size()][b.size()];
}

// Whatever the texts: the lines of one, less those taken away, with those added, are the lines of
// the other; and no shorter list of changes does it.
TEST(Difference, ItsChangesTurnOneTextIntoTheOther) {
    RandomStream random(11, 1);
    for (int round = 0; round < 300; ++round) {
        auto const letters = [&] {
            std::string out;
            auto const n = static_cast<int>(12 * random.uniform());
            for (int i = 0; i < n; ++i) out += static_cast<char>('a' + 4 * random.uniform());
            return out;
        };
        auto const text = [](std::string const& of) {
            std::string out;
            for (char const c : of) out += std::string(1, c) + "\n";
            return out;
        };
        auto const before = letters(), after = letters();
        auto const changes = line_changes(text(before), text(after));
        EXPECT_EQ(changes.size(), before.size() + after.size() - 2 * longest_common(before, after));
        std::multiset<std::string> lines;
        for (char const c : before) lines.insert(std::string(1, c));
        for (auto const& change : changes)
            if (change.added)
                lines.insert(change.line);
            else
                lines.extract(change.line);
        std::multiset<std::string> wanted;
        for (char const c : after) wanted.insert(std::string(1, c));
        EXPECT_EQ(lines, wanted) << before << " to " << after;
    }
}

TEST(Difference, OfHugeTextsIsStillAnswered) {
    std::string before, after;
    for (int i = 0; i < 6000; ++i) {
        before += "old " + std::to_string(i) + "\n";
        after += "new " + std::to_string(i) + "\n";
    }
    EXPECT_EQ(line_changes(before, after).size(), 12000U);
}

}  // namespace
}  // namespace gw
