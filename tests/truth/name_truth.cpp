// How names follow a flow that has moved: `name_truth [cases [first]]`. The figures of
// docs/assay.md come from here.
#include <fmt/format.h>

#include <cstdlib>

#include "truth/moved_names.hpp"

int main(int count, char** arguments) {
    using namespace gw::truth;
    int const cases = count > 1 ? std::atoi(arguments[1]) : 4000;
    auto const first = static_cast<std::uint64_t>(count > 2 ? std::atoll(arguments[2]) : 0);
    fmt::print("{} cases each from number {}\n{:<30}{:>9}{:>9}{:>9}{:>9}{:>14}\n",
               cases,
               first,
               "",
               "right %",
               "none %",
               "wrong %",
               "moved %",
               "extra named %");
    for (Kind const kind : all_kinds)
        for (auto const& [story, name] : std::initializer_list<std::pair<Story, char const*>>{
                 {Story::moved, "moved, one missing, one extra"},
                 {Story::all_there, "moved, all there"},
                 {Story::still, "still, one missing, one extra"},
                 {Story::leak, "groups move apart"},
                 {Story::stranger, "another analyser"}}) {
            auto const t = named(kind, story, first, cases);
            auto const share = [](int part, int of) { return of > 0 ? 100.0 * part / of : 0.0; };
            fmt::print("{:<30}{:>9.3f}{:>9.3f}{:>9.4f}{:>9.2f}{:>14.3f}{}\n",
                       name,
                       share(t.right, t.peaks),
                       share(t.none, t.peaks),
                       share(t.wrong, t.peaks),
                       share(t.aligned, t.cases),
                       share(t.extra_named, t.extra),
                       kind == Kind::usual      ? ""
 : kind == Kind::parallel ? "  (parallel chains)"
 : "  (random layouts)");
        }
}
