// The direction of dependence, read from the #include lines: a folder may use only what lies below.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>

namespace {

using Folders = std::set<std::string>;

// What each folder may include, itself aside. A new folder gets its line here first.
std::map<std::string, Folders> const allowed = {
    {"base", {}},
    {"gas", {"base"}},
    {"metrology", {"base"}},
    {"trace", {"base", "gas", "metrology"}},
    {"assay", {"base", "gas", "metrology", "trace"}},
    {"oven", {"base", "gas", "metrology", "trace", "assay"}},
    {"bench", {"base", "gas", "metrology", "trace", "assay"}},
    {"visit", {"base", "gas", "metrology", "trace", "assay"}},
    {"report", {"base", "gas", "metrology", "trace", "assay", "visit"}},
    {"store", {"base", "visit"}},
    {"desk",
     {"base", "gas", "metrology", "trace", "assay", "oven", "bench", "visit", "report", "store"}},
    {"serve",
     {"base",
      "gas",
      "metrology",
      "trace",
      "assay",
      "oven",
      "bench",
      "visit",
      "store",
      "report",
      "desk"}},
    {"app",
     {"base",
      "gas",
      "metrology",
      "trace",
      "assay",
      "bench",
      "visit",
      "store",
      "report",
      "desk",
      "serve"}},
};

TEST(Architecture, DependenceRunsStrictlyDownward) {
    std::filesystem::path const root = std::filesystem::path(GW_SOURCE_DIR) / "src";
    std::regex const include(R"re(^\s*#include "([a-z_]+)/)re");
    int edges = 0;
    for (auto const& entry : std::filesystem::recursive_directory_iterator(root)) {
        auto const extension = entry.path().extension();
        if (extension != ".cpp" && extension != ".hpp") continue;
        auto const relative = std::filesystem::relative(entry.path(), root);
        auto const folder = relative.begin()->string();
        ASSERT_TRUE(allowed.contains(folder)) << folder << " has no line in the table above";
        std::ifstream in(entry.path());
        for (std::string line; std::getline(in, line);) {
            std::smatch match;
            if (!std::regex_search(line, match, include) || match[1] == folder) continue;
            ++edges;
            EXPECT_TRUE(allowed.at(folder).contains(match[1]))
                << relative << " reaches up: " << line;
        }
    }
    EXPECT_GT(edges, 10) << "the check must have read something";
}

TEST(Architecture, OnlyTheCommandLineHasAMain) {
    std::regex const main_function(R"(^int main\()");
    for (auto const& entry : std::filesystem::recursive_directory_iterator(
             std::filesystem::path(GW_SOURCE_DIR) / "src")) {
        if (entry.path().extension() != ".cpp") continue;
        std::ifstream in(entry.path());
        for (std::string line; std::getline(in, line);)
            if (std::regex_search(line, main_function)) {
                EXPECT_EQ(entry.path().parent_path().filename(), "app");
            }
    }
}

}  // namespace
