#include "trace/follow.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "trace/random_runs.hpp"

namespace gw::trace {
namespace {

// One invented analyser: the runs of a number share peaks, widths and noise; amounts, times and
// baseline differ a little from run to run.
struct Analyser {
    SyntheticDetector detector;
    double rate_hz = 50;

    explicit Analyser(std::uint64_t number, double closest = 2.5) {
        RandomStream random(4242, number);
        auto const uniform = [&](double low, double high) {
            return low + (high - low) * random.uniform();
        };
        detector.white_noise = std::pow(10, uniform(-3, -1.5));
        detector.offset = uniform(-20, 20);
        detector.drift_per_s = uniform(-0.002, 0.002);
        double t = uniform(14, 25), width = uniform(0.5, 1.2);
        double const tail = uniform(0.05, 1.0);
        for (int n = static_cast<int>(uniform(5, 12)); n > 0 && t < 205; --n) {
            double const height =
                std::min(800.0, detector.white_noise * std::pow(10, uniform(1.2, 4.5)));
            double const sigma = width / 2.3548;
            detector.peaks.push_back({height * sigma * 2.5066, t, sigma, sigma * tail});
            t += width * std::sqrt(1 + tail * tail) * uniform(closest, 8);
            width *= uniform(1, 1.25);
        }
    }
    [[nodiscard]] SyntheticDetector as_in_run(std::uint64_t number, std::uint64_t run) const {
        RandomStream random(900 + number, run);
        auto d = detector;
        double const pace = 1 + 1e-4 * random.normal(), load = 1 + 0.01 * random.normal();
        d.offset += 0.01 * random.normal();
        for (auto& p : d.peaks) {
            p.area *= load * (1 + 0.05 * random.normal());
            p.mu = p.mu * pace + 0.002 * random.normal();
        }
        return d;
    }
    // Every so-many-th peak gets a neighbour, `apart` half widths later.
    void put_beside(std::size_t every, double share, double apart) {
        auto const alone = detector.peaks;
        for (std::size_t k = 0; k < alone.size(); k += every) {
            auto beside = alone[k];
            beside.mu += apart * 2.3548 * std::hypot(beside.sigma, beside.tau);
            beside.area *= share;
            detector.peaks.push_back(beside);
        }
        std::sort(detector.peaks.begin(), detector.peaks.end(), [](Emg const& a, Emg const& b) {
            return a.mu < b.mu;
        });
    }
    [[nodiscard]] Trace trace(SyntheticDetector const& d, std::uint64_t run) const {
        SynthesisOptions o;
        o.interval_s = 1 / rate_hz;
        o.duration_s = 240;
        o.seed = 77, o.run = run;
        return synthesise({d}, o);
    }
};

void expect_agreement(DetectorPeaks const& got,
                      DetectorPeaks const& careful,
                      std::string const& where) {
    ASSERT_EQ(got.peaks.size(), careful.peaks.size()) << where;
    EXPECT_EQ(got.kicks.size(), careful.kicks.size()) << where;
    for (std::size_t k = 0; k < got.peaks.size(); ++k) {
        auto const &a = got.peaks[k], &b = careful.peaks[k];
        // Three standard uncertainties of a difference, of many hundred: each laid a background of
        // its own.
        EXPECT_LE(std::abs(a.area - b.area),
                  std::max(2e-4 * std::abs(b.area), 3 * std::hypot(a.area_u, b.area_u)))
            << where << " peak " << k << " at " << b.apex_s;
        EXPECT_NEAR(a.apex_s, b.apex_s, 0.05 * b.width_half_s + 0.02) << where;
        EXPECT_NEAR(a.height, b.height, 0.02 * b.height + 5 * b.area_u / b.width_half_s) << where;
        EXPECT_EQ(a.flags.saturated, b.flags.saturated) << where;
        EXPECT_EQ(a.flags.cut, b.flags.cut) << where;
        if (std::abs(b.resolution_next.value_or(2) - 1) > 0.02 &&
            (k == 0 || std::abs(*careful.peaks[k - 1].resolution_next - 1) > 0.02)) {
            EXPECT_EQ(a.flags.merged, b.flags.merged) << where;
        }
    }
}

// Runs of one analyser after another, those that were followed held against the careful search.
struct Held {
    std::size_t shown{}, followed{};
    void against(PeakFollower& follower,
                 Trace const& trace,
                 PeakOptions const& options,
                 std::uint64_t number,
                 std::uint64_t run) {
        auto const got = follower.find(trace, 1, options);
        ++shown;
        if (!follower.reason().empty()) return;
        ++followed;
        expect_agreement(got,
                         find_peaks(trace, 1, options),
                         "analyser " + std::to_string(number) + " run " + std::to_string(run));
    }
};

TEST(Follow, AgreesWithTheCarefulSearchWhereItFollows) {
    Held held;
    for (std::uint64_t number = 0; number < 25; ++number) {
        Analyser const analyser(number);
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 5; ++run)
            held.against(follower,
                         analyser.trace(analyser.as_in_run(number, run), 100 * number + run),
                         {},
                         number,
                         run);
    }
    EXPECT_GT(held.followed, held.shown * 4 / 10) << "nothing was held against anything";
}

// Whatever happens to a run, the answer is the careful one, or agrees with it.
TEST(Follow, HandsOverWhateverIsUnexpected) {
    struct Surprise {
        char const* name;
        std::function<void(SyntheticDetector&, double)> make;  // with the noise
        bool must_hand_over;
    };
    std::vector<Surprise> const surprises{
        {"an extra peak",
         [](auto& d, double noise) {
             auto const& last = d.peaks.back();
             d.peaks.push_back({20 * noise * last.sigma * 2.5, last.mu + 14, last.sigma, 0.1});
         },
         true},
        {"a rider in a tail",
         [](auto& d, double noise) {
             auto const& p = d.peaks.front();
             d.peaks.push_back({30 * noise * p.sigma * 2.5, p.mu + 4.5 * p.sigma, p.sigma, 0.05});
         },
         false},
        {"a missing peak", [](auto& d, double) { d.peaks.erase(d.peaks.begin() + 1); }, true},
        {"a kick",
         [](auto& d, double noise) {
             d.kicks.push_back({d.peaks.front().mu - 6, 60 * noise, 0.4});
         },
         true},
        {"a kick on a flank",
         [](auto& d, double noise) {
             d.kicks.push_back({d.peaks.front().mu - d.peaks.front().sigma, 60 * noise, 0.4});
         },
         false},
        {"a step",
         [](auto& d, double noise) {
             SyntheticKick kick;
             kick.at_s = 120, kick.height = 0, kick.step = 15 * noise;
             d.kicks.push_back(kick);
         },
         true},
        {"wander",
         [](auto& d, double noise) { d.wander = 25 * noise, d.wander_period_s = 60; },
         true},
        {"a late run",
         [](auto& d, double) {
             for (auto& p : d.peaks) p.mu += 2;
         },
         true},
        {"clipping",
         [](auto& d, double) {
             double most = 0;
             for (auto const& p : d.peaks) most = std::max(most, p.area / p.sigma / 2.6);
             d.high = d.offset + 0.7 * most;
         },
         true},
        {"ten times the amount", [](auto& d, double) { d.peaks.front().area *= 10; }, false},
        {"a third of the amount", [](auto& d, double) { d.peaks.back().area /= 3; }, false},
        {"twice the noise", [](auto& d, double noise) { d.white_noise = 2 * noise; }, true},
        {"a wider column",
         [](auto& d, double) {
             for (auto& p : d.peaks) p.sigma *= 1.15;
         },
         false},
    };
    for (std::uint64_t number = 0; number < 12; ++number) {
        Analyser const analyser(number);
        for (auto const& surprise : surprises) {
            PeakFollower follower;
            follower.find(analyser.trace(analyser.as_in_run(number, 0), number), 1, {});
            auto d = analyser.as_in_run(number, 1);
            surprise.make(d, d.white_noise);
            auto const trace = analyser.trace(d, number + 1000);
            auto const got = follower.find(trace, 1, {});
            if (surprise.must_hand_over) {
                EXPECT_EQ(follower.careful(), 2U) << surprise.name << ", analyser " << number;
            }
            expect_agreement(got, find_peaks(trace, 1), surprise.name);
        }
    }
}

// The test runs of the search itself: a run after one of another analyser is never followed
// wrongly.
TEST(Follow, NeverTakesOneRunForAnother) {
    PeakFollower follower;
    RunKind kind;
    for (std::uint64_t n = 0; n < 30; ++n) {
        auto const run = random_run(kind, 31, n);
        auto const got = follower.find(run.trace, 1, run.options);
        expect_agreement(got, find_peaks(run.trace, 1, run.options), "run " + std::to_string(n));
    }
    EXPECT_EQ(follower.careful(), 30U);
}

// Neighbours that overlap change by amounts of their own: each is parted from what the other has
// more or less of, and the areas stay as near the truth as their uncertainty says.
TEST(Follow, PartsOverlappedNeighboursAsTrulyAsTheCarefulSearch) {
    double followed = 0, careful = 0;
    int count = 0;
    for (std::uint64_t number = 0; number < 30; ++number) {
        Analyser analyser(number, 4);
        analyser.put_beside(2, 0.8, 1.9);
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 6; ++run) {
            auto const d = analyser.as_in_run(number, run);
            auto const trace = analyser.trace(d, 500 + 10 * number + run);
            auto const got = follower.find(trace, 1, {});
            if (!follower.reason().empty() || got.peaks.size() != d.peaks.size()) continue;
            auto const searched = find_peaks(trace, 1);
            ASSERT_EQ(searched.peaks.size(), got.peaks.size());
            for (std::size_t k = 0; k < d.peaks.size(); ++k, ++count) {
                auto const &a = got.peaks[k], &b = searched.peaks[k];
                followed += std::pow((a.area - d.peaks[k].area) / a.area_u, 2);
                careful += std::pow((b.area - d.peaks[k].area) / b.area_u, 2);
            }
        }
    }
    ASSERT_GT(count, 150);
    EXPECT_LT(std::sqrt(followed / count), 1.2 * std::sqrt(careful / count)) << count;
    EXPECT_LT(std::sqrt(followed / count), 1.3) << count;
}

// Noise that grows towards low frequencies makes every background of its own.
TEST(Follow, FollowsUnderSlowNoiseAsTrulyAsTheCarefulSearch) {
    double followed = 0, careful = 0;
    int count = 0, shown = 0, runs = 0;
    for (std::uint64_t number = 0; number < 30; ++number) {
        Analyser analyser(number, 4);
        analyser.detector.flicker_noise = 1.5 * analyser.detector.white_noise;
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 8; ++run) {
            auto const d = analyser.as_in_run(number, run);
            auto const trace = analyser.trace(d, 1500 + 10 * number + run);
            auto const got = follower.find(trace, 1, {});
            ++shown;
            if (!follower.reason().empty()) continue;
            ++runs;
            auto const searched = find_peaks(trace, 1);
            if (searched.peaks.size() != got.peaks.size() || got.peaks.size() != d.peaks.size())
                continue;
            for (std::size_t k = 0; k < d.peaks.size(); ++k, ++count) {
                auto const &a = got.peaks[k], &b = searched.peaks[k];
                followed += std::pow((a.area - d.peaks[k].area) / a.area_u, 2);
                careful += std::pow((b.area - d.peaks[k].area) / b.area_u, 2);
            }
        }
    }
    EXPECT_GT(runs, shown / 2);
    ASSERT_GT(count, 200);
    EXPECT_LT(std::sqrt(followed / count), 1.2 * std::sqrt(careful / count)) << count;
    EXPECT_LT(std::sqrt(followed / count), 1.15) << count;
}

// Below a resolution of one the shapes are fitted anew in every run.
TEST(Follow, FitsPeaksAnewThatMeetBelowAResolutionOfOne) {
    Held held;
    for (std::uint64_t number = 0; number < 15; ++number) {
        Analyser analyser(number, 5);
        analyser.put_beside(3, 0.5, (0.75 + 0.01 * static_cast<double>(number)) * 2 / 1.18);
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 5; ++run)
            held.against(follower,
                         analyser.trace(analyser.as_in_run(number, run), 700 + 10 * number + run),
                         {},
                         number,
                         run);
    }
    EXPECT_GT(held.followed, held.shown * 4 / 10);
}

// What comes out as one peak may be many components: its shape goes with their amounts.
TEST(Follow, SearchesAnewAmongPeaksWhoseShapeGoesWithTheGas) {
    Held held;
    for (std::uint64_t number = 0; number < 15; ++number) {
        Analyser const analyser(number, 5);
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 6; ++run) {
            auto d = analyser.as_in_run(number, run);
            RandomStream random(31 + number, run);
            auto const lump = d.peaks[1];
            d.peaks[1].area *= 0.4;
            for (int part = 1; part < 4; ++part) {
                auto one = lump;
                one.area *= 0.2 * (1 + 0.15 * random.normal());
                one.mu += 0.25 * part * one.sigma;
                d.peaks.push_back(one);
            }
            held.against(follower, analyser.trace(d, 900 + 10 * number + run), {}, number, run);
        }
    }
    EXPECT_GT(held.followed, held.shown * 4 / 10);
}

// A new peak of ten to a hundred noises, half a width to three from one that is known.
TEST(Follow, HardlyEverPassesOverASmallNewPeak) {
    std::size_t followed = 0, passed_over = 0;
    for (std::uint64_t number = 0; number < 20; ++number) {
        Analyser analyser(number, 4);
        analyser.put_beside(4, 0.4, 1.5);
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 6; ++run) {
            auto d = analyser.as_in_run(number, run);
            RandomStream random(55 + number, run);
            if (run > 0) {
                auto beside = d.peaks[static_cast<std::size_t>(
                    random.uniform() * static_cast<double>(d.peaks.size()))];
                double const side = random.uniform() < 0.5 ? -1 : 1;
                beside.mu += side * (0.5 + 2.5 * random.uniform()) * 2.3548 * beside.sigma;
                beside.area =
                    d.white_noise * std::pow(10, 1 + random.uniform()) * 2.5066 * beside.sigma;
                d.peaks.push_back(beside);
            }
            auto const trace = analyser.trace(d, 40 * number + run);
            auto const got = follower.find(trace, 1, {});
            if (!follower.reason().empty()) continue;
            ++followed;
            passed_over += got.peaks.size() != find_peaks(trace, 1).peaks.size() ? 1 : 0;
        }
    }
    EXPECT_GT(followed, 20U);
    EXPECT_LE(passed_over, followed / 20);
}

// Every valve event leaves a step, of another height in every run.
TEST(Follow, FollowsAnAnalyserThatStepsAtEveryEvent) {
    std::size_t followed = 0;
    for (std::uint64_t number = 0; number < 12; ++number) {
        Analyser const analyser(number, 5);
        PeakOptions options;
        std::vector<double> at;
        for (std::size_t k = 0; k + 1 < analyser.detector.peaks.size(); k += 2) {
            auto const &a = analyser.detector.peaks[k], &b = analyser.detector.peaks[k + 1];
            double const from = a.mu + 7 * a.sigma + 8 * a.tau, to = b.mu - 8 * b.sigma;
            if (to - from > 3) at.push_back(0.5 * (from + to));
        }
        for (double const t : at) options.events.push_back({t, "valve"});
        PeakFollower follower;
        for (std::uint64_t run = 0; run < 5; ++run) {
            auto d = analyser.as_in_run(number, run);
            double size = 14 + 2 * static_cast<double>(run);
            for (double const t : at) {
                SyntheticKick kick;
                kick.at_s = t, kick.height = 30 * d.white_noise, kick.decay_s = 0.25;
                kick.step = (size = -size) * d.white_noise;
                d.kicks.push_back(kick);
            }
            auto const trace = analyser.trace(d, 300 * number + run);
            auto const got = follower.find(trace, 1, options);
            if (!follower.reason().empty()) continue;
            ++followed;
            expect_agreement(got,
                             find_peaks(trace, 1, options),
                             "analyser " + std::to_string(number) + " run " + std::to_string(run));
            for (auto const& step : got.steps) {
                if (step.step == 0) continue;
                EXPECT_NEAR(std::abs(step.step), std::abs(size) * d.white_noise, 6 * d.white_noise)
                    << number << ", " << run << " at " << step.at_s;
            }
        }
    }
    EXPECT_GE(followed, 15U);
}

TEST(Follow, KnowsSeveralGasesInTurn) {
    Analyser const analyser(3);
    auto other = analyser;
    for (auto& p : other.detector.peaks) p.area *= 3;
    PeakFollower follower;
    for (std::uint64_t run = 0; run < 12; ++run) {
        auto const& which = run % 2 == 0 ? analyser : other;
        follower.find(which.trace(which.as_in_run(3, run), run), 1, {});
    }
    EXPECT_GE(follower.followed(), 8U) << follower.reason();
}

}  // namespace
}  // namespace gw::trace
