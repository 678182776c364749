#include "truth/moved_names.hpp"

#include <algorithm>
#include <cmath>

namespace gw::truth {

namespace {

class Dice {
  public:
    explicit Dice(std::uint64_t seed) : engine_(seed * 0x9e3779b97f4a7c15u + 0x1234567) {}
    double between(double low, double high) {
        return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1.0p-53);
    }
    double normal() {
        double sum = 0;  // of twelve: near enough for a scatter
        for (int k = 0; k < 12; ++k) sum += between(-0.5, 0.5);
        return sum;
    }

  private:
    std::mt19937_64 engine_;
};

void expect(Layout& out, double t, double origin, double window) {
    assay::ExpectedPeak e;
    e.component = gas::Component{static_cast<std::uint8_t>(out.expected.size())};
    e.retention_s = t;
    e.window_s = window;
    out.expected.push_back(e);
    out.origins.push_back(origin);
}

trace::Peak peak_at(double t, double height) {
    trace::Peak p;
    p.apex_s = t, p.start_s = t - 3, p.end_s = t + 3, p.height = height, p.width_half_s = 2;
    return p;
}

}  // namespace

Layout usual_layout() {
    Layout out;
    out.events = {0, 21.8, 39, 156, 236};
    for (auto const& [t, origin] : std::vector<std::pair<double, double>>{{43.6, 43.6},
                                                                          {52.7, 0},
                                                                          {70.4, 0},
                                                                          {84.5, 0},
                                                                          {90.2, 0},
                                                                          {130.4, 0},
                                                                          {153.9, 0},
                                                                          {164.5, 117},
                                                                          {175.1, 117},
                                                                          {190.4, 117},
                                                                          {214.9, 117}})
        expect(out, t, origin, 2.5);
    return out;
}

Layout parallel_layout() {
    Layout out;
    out.events = {0, 5.4, 28.2, 94, 356};
    for (auto const& [t, origin] : std::vector<std::pair<double, double>>{{16.2, 0},
                                                                          {20.1, 0},
                                                                          {27.7, 0},
                                                                          {40.1, 0},
                                                                          {56.5, 56.4},
                                                                          {103.6, 0},
                                                                          {139.5, 0},
                                                                          {168.0, 0},
                                                                          {179.7, 0},
                                                                          {261.2, 0},
                                                                          {309.0, 0}})
        expect(out, t, origin, t < 25 ? 1.8 : 4);
    return out;
}

Layout random_layout(std::uint64_t number) {
    Dice dice(number);
    Layout out;
    double const back = dice.between(15, 35), hold = back + dice.between(5, 30),
                 scale = dice.between(0.7, 2);
    double t = 2 * back;
    if (dice.between(0, 1) < 0.7) expect(out, t, 2 * back, 0.02 * t + dice.between(1, 3));
    auto const group = [&](int count, double origin, double gap) {
        for (int k = 0; k < count; ++k) {
            t += scale * dice.between(gap, 3.5 * gap);
            gap *= 1.15;
            expect(out, t, origin, dice.between(0.25, 0.45) * scale * gap + 0.5);
        }
    };
    group(3 + static_cast<int>(dice.between(0, 5)), 0, 8);
    double const release = t + dice.between(5, 12);
    out.events = {0, back, hold, release};
    if (dice.between(0, 1) < 0.8) {
        t = release;
        group(2 + static_cast<int>(dice.between(0, 4)), release - hold, 8);
    }
    out.events.push_back(t + 20);
    // Windows of neighbours do not overlap, as in any method.
    for (std::size_t e = 0; e + 1 < out.expected.size(); ++e) {
        auto &a = out.expected[e], &b = out.expected[e + 1];
        double const room = 0.48 * (b.retention_s - a.retention_s);
        a.window_s = std::min(a.window_s, room), b.window_s = std::min(b.window_s, room);
    }
    return out;
}

Case invented_case(Layout const& layout, Story story, std::uint64_t number) {
    Dice dice(number ^ (static_cast<std::uint64_t>(story) << 40));
    Case out;
    double const length = layout.events.back();
    std::vector<std::pair<double, std::optional<std::size_t>>> seen;
    if (story == Story::stranger) {
        for (int k = static_cast<int>(dice.between(5, 13)); k > 0; --k)
            seen.emplace_back(dice.between(5, length), std::nullopt);
    } else {
        out.stretch = story == Story::still ? 1 : dice.between(0.925, 1.08);
        double const warm = 0.002 * dice.between(-0.5, 0.5);
        std::size_t const count = layout.expected.size();
        auto const missing =
            story == Story::all_there
                ? count
                : static_cast<std::size_t>(dice.between(0, 1) * static_cast<double>(count));
        double before = -1, own = 0;
        for (std::size_t e = 0; e < count; ++e) {
            if (layout.origins[e] != before)
                before = layout.origins[e],
                own = story == Story::leak ? dice.between(-0.015, 0.015) : 0;
            if (e == missing) continue;
            double const t = layout.at(e, out.stretch + own);
            seen.emplace_back(t + warm * (t - layout.origins[e]) + 0.08 * dice.normal(), e);
        }
        if (story == Story::moved || story == Story::still)
            for (bool near = true; near;) {
                double const extra = dice.between(30, length);
                near = false;
                for (auto const& [t, e] : seen) near = near || std::abs(t - extra) < 4;
                if (!near) seen.emplace_back(extra, std::nullopt);
            }
    }
    std::sort(
        seen.begin(), seen.end(), [](auto const& a, auto const& b) { return a.first < b.first; });
    for (auto const& [t, e] : seen) {
        out.peaks.push_back(peak_at(t, std::pow(10, -3 * dice.between(0, 1))));
        out.truth.push_back(e);
    }
    return out;
}

NameTally named(Kind kind, Story story, std::uint64_t first, int cases) {
    NameTally out;
    for (int k = 0; k < cases; ++k) {
        auto const number = first + static_cast<std::uint64_t>(k);
        auto const layout = kind == Kind::usual      ? usual_layout()
                            : kind == Kind::parallel ? parallel_layout()
                                                     : random_layout(number);
        auto const run = invented_case(layout, story, number);
        auto names = assay::assign(run.peaks, layout.expected);
        auto const complete = static_cast<std::size_t>(
            std::count_if(names.begin(), names.end(), [](auto const& n) { return n.has_value(); }));
        if (complete < layout.expected.size())
            if (auto const moved = assay::align(run.peaks, layout.expected, layout.events)) {
                ++out.aligned;
                for (std::size_t i = 0; i < names.size(); ++i) {
                    names[i].reset();
                    if (moved->names[i]) names[i] = moved->names[i]->expected;
                }
            }
        ++out.cases;
        for (std::size_t i = 0; i < names.size(); ++i) {
            if (!run.truth[i]) {
                ++out.extra, out.extra_named += names[i] ? 1 : 0;
                continue;
            }
            ++out.peaks;
            if (!names[i])
                ++out.none;
            else
                ++(*names[i] == *run.truth[i] ? out.right : out.wrong);
        }
    }
    return out;
}

}  // namespace gw::truth
