#include "trace/archive.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <filesystem>

#include "base/file.hpp"
#include "base/hash.hpp"
#include "trace/counts.hpp"
#include "trace/synthesis.hpp"

namespace gw::trace {
namespace {

class ArchiveFile : public testing::Test {
  protected:
    std::filesystem::path folder =
        std::filesystem::temp_directory_path() /
        ("gw_archive_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)));
    std::string path = (folder / "runs.gwa").string();
    void SetUp() override { std::filesystem::create_directories(folder); }
    void TearDown() override { std::filesystem::remove_all(folder); }
};

Trace run(std::uint64_t number, double quantum = 0.0005, std::size_t detectors = 1) {
    SyntheticDetector d;
    d.peaks = {{800, 30, 0.6, 0.3}, {20, 60, 0.9, 0.4}};
    d.offset = -12.3, d.drift_per_s = 0.001, d.white_noise = 0.003, d.quantum = quantum;
    SynthesisOptions o;
    o.duration_s = 100, o.run = number;
    auto out = synthesise(std::vector(detectors, d), o);
    out.source = "run" + std::to_string(number) + ".csv";
    out.hash = sha256(out.source);
    out.start = Instant{1'700'000'000'000 + static_cast<std::int64_t>(number) * 240'000, 60};
    out.header = {{"gas", "line"}, {"stream", "2"}, {"ambient_kpa", "99.1"}};
    out.gaps = {{100, 110}};
    out.warnings = {"A gap was filled."};
    return out;
}

void expect_same(Trace const& a, Trace const& b) {
    EXPECT_EQ(a.source, b.source);
    EXPECT_EQ(a.hash, b.hash);
    EXPECT_EQ(a.unit, b.unit);
    EXPECT_EQ(a.start->milliseconds, b.start->milliseconds);
    EXPECT_EQ(a.start->offset_minutes, b.start->offset_minutes);
    EXPECT_EQ(a.start_s, b.start_s);
    EXPECT_EQ(a.interval_s, b.interval_s);
    EXPECT_EQ(a.header, b.header);
    EXPECT_EQ(a.warnings, b.warnings);
    ASSERT_EQ(a.gaps.size(), b.gaps.size());
    ASSERT_EQ(a.signals.size(), b.signals.size());
    for (std::size_t d = 0; d < a.signals.size(); ++d) {
        ASSERT_EQ(a.signals[d].size(), b.signals[d].size());
        for (std::size_t i = 0; i < a.signals[d].size(); ++i)
            ASSERT_EQ(std::bit_cast<std::uint32_t>(a.signals[d][i]),
                      std::bit_cast<std::uint32_t>(b.signals[d][i]))
                << d << ' ' << i;
    }
}

void write_archive(std::string const& path, std::uint64_t first, std::uint64_t last) {
    auto writer = ArchiveWriter::create(path);
    ASSERT_TRUE(writer) << writer.error().what;
    for (auto n = first; n < last; ++n) ASSERT_TRUE(*writer->add(run(n)));
    ASSERT_TRUE(writer->finish());
}

TEST(Counts, FindsTheGrainOfAConverterAndOfPrintedDigits) {
    for (double const step : {0.0005, 1.0, 10.0 / 8388608, 2.5 / 65536, 0.00012207, 3e-7}) {
        std::vector<float> signal;
        for (int i = 0; i < 4000; ++i)
            signal.push_back(static_cast<float>(
                step * std::round(4000 * std::exp(-std::pow((i - 2000) / 100.0, 2)) +
                                  3 * std::sin(12.9898 * i * i))));
        auto const counts = counts_of(signal);
        EXPECT_NE(counts.scaling, Scaling::bits) << step;
        std::vector<float> back(signal.size());
        signal_of(counts.values, counts.scaling, counts.scale, back);
        EXPECT_EQ(back, signal) << step;
    }
}

TEST(Counts, KeepsFloatsWithoutGrainAndNegativeZeroBitForBit) {
    std::vector<float> signal{-0.0F, 0.0F, 1e-40F, -3.3e38F, 3.3e38F, 0.1F};
    for (int i = 0; i < 500; ++i)
        signal.push_back(static_cast<float>(std::sin(0.37 * i) * std::pow(10, i % 30 - 15)));
    auto const counts = counts_of(signal);
    EXPECT_EQ(counts.scaling, Scaling::bits);
    std::vector<float> back(signal.size());
    signal_of(counts.values, counts.scaling, counts.scale, back);
    for (std::size_t i = 0; i < signal.size(); ++i)
        EXPECT_EQ(std::bit_cast<std::uint32_t>(back[i]), std::bit_cast<std::uint32_t>(signal[i]));
}

TEST_F(ArchiveFile, GivesRunsBackBitForBitInAnyOrder) {
    auto writer = ArchiveWriter::create(path);
    ASSERT_TRUE(writer);
    std::vector<Trace> const runs{run(0), run(1, 0), run(2, 0.0005, 3)};
    for (auto const& r : runs) EXPECT_TRUE(*writer->add(r));
    EXPECT_FALSE(*writer->add(runs[1])) << "the same content stands already";
    ASSERT_TRUE(writer->finish());
    auto const archive = Archive::open(*bytes_of_file(path));
    ASSERT_TRUE(archive) << archive.error().what;
    EXPECT_TRUE(archive->indexed());
    ASSERT_EQ(archive->size(), 3U);
    Unpacker unpacker;
    for (std::size_t const i : {2U, 0U, 1U}) {
        auto const got = archive->read(i, unpacker);
        ASSERT_TRUE(got) << got.error().what;
        expect_same(*got, runs[i]);
        EXPECT_EQ(*archive->entries()[i].started_ms, runs[i].start->milliseconds);
    }
    EXPECT_FALSE(archive->read(3, unpacker));
}

TEST_F(ArchiveFile, CountsTakeLessThanHalfOfFloats) {
    auto const counted = packed(run(1)), floats = packed(run(1, 0));
    EXPECT_LT(counted->body.size(), 0.4 * 4 * 5000);
    EXPECT_LT(counted->body.size(), 0.55 * static_cast<double>(floats->body.size()));
}

TEST_F(ArchiveFile, AppendsAcrossManyIndexBlocks) {
    write_archive(path, 0, 3);
    for (std::uint64_t n = 3; n < 9; ++n) {
        auto writer = ArchiveWriter::append(path);
        ASSERT_TRUE(writer) << writer.error().what;
        ASSERT_TRUE(*writer->add(run(n)));
        ASSERT_TRUE(writer->finish());
    }
    auto const archive = Archive::open(*bytes_of_file(path));
    EXPECT_TRUE(archive->indexed());
    ASSERT_EQ(archive->size(), 9U);
    Unpacker unpacker;
    for (std::size_t i = 0; i < 9; ++i) expect_same(*archive->read(i, unpacker), run(i));
}

TEST_F(ArchiveFile, LosesNothingThatStoodWhereverAnAppendIsCut) {
    write_archive(path, 0, 3);
    auto const before = read_file(path)->size();
    {
        auto writer = ArchiveWriter::append(path);
        for (std::uint64_t n = 3; n < 6; ++n) ASSERT_TRUE(*writer->add(run(n)));
        ASSERT_TRUE(writer->finish());
    }
    auto const whole = *read_file(path);
    std::string const cut = (folder / "cut.gwa").string();
    for (std::size_t size = before; size < whole.size(); size += 997) {
        ASSERT_TRUE(write_file(cut, std::string_view(whole).substr(0, size)));
        auto const archive = Archive::open(*bytes_of_file(cut));
        ASSERT_TRUE(archive);
        std::size_t const stood = archive->size();
        ASSERT_GE(stood, 3U);
        auto writer = ArchiveWriter::append(cut);
        ASSERT_TRUE(writer);
        EXPECT_EQ(writer->mended_bytes(), archive->lost_bytes());
        ASSERT_TRUE(*writer->add(run(77)));
        ASSERT_TRUE(writer->finish());
        auto const mended = Archive::open(*bytes_of_file(cut));
        EXPECT_TRUE(mended->indexed());
        ASSERT_EQ(mended->size(), stood + 1);
        Unpacker unpacker;
        for (std::size_t i = 0; i < stood; ++i) expect_same(*mended->read(i, unpacker), run(i));
        expect_same(*mended->read(stood, unpacker), run(77));
    }
}

TEST_F(ArchiveFile, NoticesEveryDamagedByteAndStillReadsTheOtherRuns) {
    write_archive(path, 0, 3);
    auto const whole = *read_file(path);
    auto const entries = Archive::open(*bytes_of_file(path))->entries();
    for (std::size_t at = 24; at < whole.size(); at += 101) {
        auto bytes = whole;
        bytes[at] = static_cast<char>(bytes[at] ^ 0x10);
        auto const archive = Archive::open(bytes_in_memory(bytes, "damaged"));
        ASSERT_TRUE(archive);
        Unpacker unpacker;
        for (std::size_t i = 0; i < archive->size(); ++i) {
            auto const got = archive->read(i, unpacker);
            bool const hit = at >= entries[i].offset && at < entries[i].offset + entries[i].size;
            EXPECT_EQ(got.has_value(), !hit) << at << ' ' << i;
            if (got) expect_same(*got, run(i));
        }
    }
}

TEST_F(ArchiveFile, RefusesWhatIsNoArchiveAndASecondWriter) {
    EXPECT_FALSE(Archive::open(bytes_in_memory("time_s,signal\n0,1\n0.1,2\n", "x.csv")));
    EXPECT_FALSE(Archive::open(bytes_in_memory("", "x")));
    write_archive(path, 0, 1);
    auto first = ArchiveWriter::append(path);
    ASSERT_TRUE(first);
    auto second = ArchiveWriter::append(path);
    ASSERT_FALSE(second);
    EXPECT_EQ(second.error().code, Errc::busy);
}

}  // namespace
}  // namespace gw::trace
