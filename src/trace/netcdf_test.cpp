#include "trace/netcdf.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

#include "trace/netcdf_header.hpp"
#include "trace/trace_file.hpp"

namespace gw::trace {
namespace {

Trace small_run() {
    Trace t;
    t.source = "run";
    t.interval_s = 0.02;
    t.unit = "uV";
    t.start = *parse_instant("2026-03-02T10:15:00-03:30", "");
    t.header["analyser"] = "bench 4";
    t.signals = {{}, {}};
    for (int i = 0; i < 500; ++i) {
        t.signals[0].push_back(std::sin(0.1F * static_cast<float>(i)));
        t.signals[1].push_back(0.25F * static_cast<float>(i));
    }
    return t;
}

// A file as other writers make it, put together by hand from the layout of the classic format:
// record dimension, minutes, scalars as arrays of one, double samples with a scale, two record
// variables.
struct ForeignFile {
    std::string bytes;

    void word(std::uint32_t v) {
        for (int s = 24; s >= 0; s -= 8)
            bytes += static_cast<char>(v >> static_cast<unsigned>(s) & 0xFFU);
    }
    void real(double v) {
        auto const raw = std::bit_cast<std::uint64_t>(v);
        word(static_cast<std::uint32_t>(raw >> 32U)), word(static_cast<std::uint32_t>(raw));
    }
    void text(std::string_view v) {
        word(static_cast<std::uint32_t>(v.size()));
        bytes += v;
        bytes.append((4 - v.size() % 4) % 4, '\0');
    }
    static ForeignFile make(std::uint32_t records, std::uint32_t stated_records) {
        ForeignFile f;
        std::uint32_t begin = 0;
        for (int round = 0; round < 2; ++round) {
            f.bytes = std::string("CDF\x01", 4);
            f.word(stated_records);
            f.word(0x0A), f.word(2), f.text("point_number"), f.word(0), f.text("one"), f.word(1);
            f.word(0x0C), f.word(2);
            f.text("retention_unit"), f.word(2), f.text("Minutes ");
            f.text("injection_date_time_stamp"), f.word(2),
                f.text(std::string_view("20260302101500+0100\0\0", 21));
            f.word(0x0B), f.word(4);
            f.text("actual_sampling_interval"), f.word(1), f.word(1), f.word(0), f.word(0),
                f.word(6), f.word(8), f.word(begin);
            f.text("actual_delay_time"), f.word(0), f.word(0), f.word(0), f.word(6), f.word(8),
                f.word(begin + 8);
            f.text("ordinate_values"), f.word(1), f.word(0);
            f.word(0x0C), f.word(2);
            f.text("scale_factor"), f.word(6), f.word(1), f.real(0.5);
            f.text("add_offset"), f.word(6), f.word(1), f.real(-3);
            f.word(3), f.word(4), f.word(begin + 16);
            f.text("raw_data_retention"), f.word(1), f.word(0), f.word(0), f.word(0), f.word(5),
                f.word(4), f.word(begin + 20);
            begin = static_cast<std::uint32_t>(f.bytes.size());
        }
        f.real(0.1 / 60), f.real(0.05);
        for (std::uint32_t i = 0; i < records; ++i) {
            f.bytes += static_cast<char>(i >> 8U), f.bytes += static_cast<char>(i & 0xFFU);
            f.bytes += "??";  // a short is padded to a word within its record
            f.word(0);
        }
        return f;
    }
};

TEST(NetCdf, ReadsBackWhatItWrote) {
    auto const run = small_run();
    for (int detector : {1, 2}) {
        auto const bytes = netcdf_bytes(run, detector);
        ASSERT_TRUE(bytes);
        auto const again = read_trace(*bytes, "run.cdf");
        ASSERT_TRUE(again) << one_line(again.error());
        EXPECT_EQ(again->signals.at(0), run.signals[static_cast<std::size_t>(detector) - 1]);
        EXPECT_EQ(again->interval_s, 0.02) << "not the nearest float";
        EXPECT_EQ(again->start_s, 0);
        EXPECT_EQ(again->unit, "uV");
        ASSERT_TRUE(again->start);
        EXPECT_EQ(to_text(*again->start), to_text(*run.start));
        EXPECT_EQ(again->header.at("analyser"), "bench 4");
        EXPECT_TRUE(again->warnings.empty());
    }
    EXPECT_FALSE(netcdf_bytes(run, 3));
    EXPECT_FALSE(netcdf_bytes(run, 0));
}

TEST(NetCdf, ReadsRecordsMinutesAndScaledIntegers) {
    for (std::uint32_t const stated : {400U, 0xFFFFFFFFU}) {
        auto const trace = read_trace(ForeignFile::make(400, stated).bytes, "foreign.cdf");
        ASSERT_TRUE(trace) << one_line(trace.error());
        ASSERT_EQ(trace->samples(), 400U);
        EXPECT_EQ(trace->interval_s, 0.1);
        EXPECT_EQ(trace->start_s, 3);
        EXPECT_EQ(trace->signals[0][399], 0.5F * 399 - 3);
        ASSERT_TRUE(trace->start);
        EXPECT_EQ(to_text(*trace->start), "2026-03-02T10:15:00+01:00");
    }
}

TEST(NetCdf, RefusesEveryCutFile) {
    auto const whole = *netcdf_bytes(small_run(), 1);
    for (std::size_t n = 4; n < whole.size(); n += n < 900 ? 1 : 37) {
        auto const cut = read_netcdf(std::string_view(whole).substr(0, n), "cut.cdf");
        ASSERT_FALSE(cut) << n;
        EXPECT_EQ(cut.error().code, Errc::bad_input);
        EXPECT_FALSE(cut.error().mend.empty());
    }
    EXPECT_FALSE(read_netcdf(ForeignFile::make(400, 500).bytes, "cut.cdf"));
}

TEST(NetCdf, RefusesWhatIsNoNumberOrNoChromatogram) {
    auto run = small_run();
    run.signals[0][7] = NAN;
    auto const bad = read_netcdf(*netcdf_bytes(run, 1), "nan.cdf");
    ASSERT_FALSE(bad);
    EXPECT_NE(bad.error().what.find("Sample 8"), std::string::npos) << bad.error().what;
    run.signals[0][7] = 9.96921e36F;
    EXPECT_FALSE(read_netcdf(*netcdf_bytes(run, 1), "unwritten.cdf"));
    auto later = read_trace("\x89HDF\r\n\x1a\n and so on", "later.nc");
    ASSERT_FALSE(later);
    EXPECT_NE(later.error().what.find("netCDF-4"), std::string::npos);
    auto other = *netcdf_bytes(small_run(), 1);
    other.replace(other.find("ordinate_values"), 15, "ordinate_valuez");
    EXPECT_FALSE(read_netcdf(other, "other.cdf"));
}

}  // namespace
}  // namespace gw::trace
