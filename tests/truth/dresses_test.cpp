// The same clean trace as nine foreign programs may write it, and as netCDF: the same peaks and
// areas.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "trace/netcdf.hpp"
#include "trace/trace_file.hpp"
#include "truth/invented_run.hpp"

namespace gw::truth {
namespace {

struct Dress {
    char const* name;
    std::string bytes;
    trace::TraceReadOptions options;
};

std::string rows(trace::Trace const& t,
                 std::string const& head,
                 std::string const& delimiter,
                 double time_unit_s,
                 bool decimal_comma,
                 bool quoted,
                 std::string const& end) {
    std::string out = head;
    for (std::size_t i = 0; i < t.samples(); ++i) {
        std::string time = fmt::format("{:.9g}", t.time(i) / time_unit_s),
                    value = fmt::format("{:.9g}", t.signals[0][i]);
        if (decimal_comma)
            for (auto* text : {&time, &value}) std::replace(text->begin(), text->end(), '.', ',');
        std::string const mark = quoted ? "\"" : "";
        out += mark + time + mark + delimiter + mark + value + mark + end;
    }
    return out;
}

std::string wide(std::string const& text) {
    std::string out = "\xFF\xFE";
    for (char const c : text) out += c, out += '\0';
    return out;
}

TEST(Dresses, GiveTheSameAreas) {
    Family family;
    family.rate_hz = 20;
    for (std::uint64_t number = 0; number < 3; ++number) {
        auto const t = invented_run(family, 5000 + number).trace;
        std::string bare = "signal\n";
        for (float const v : t.signals[0]) bare += fmt::format("{:.9g}\n", v);
        std::vector<Dress> const dresses{
            {"our own", trace::trace_csv(t), {}},
            {"semicolons and decimal commas",
             rows(t, "Zeit;Signal\r\n", ";", 1, true, false, "\r\n"),
             {}},
            {"tabs and a row of units",
             rows(t, "Time\tCh1\ns\tmV\n", "\t", 1, false, false, "\n"),
             {}},
            {"quoted fields", rows(t, "\"time\",\"mV\"\n", ",", 1, true, true, "\n"), {}},
            {"blanks, no header", rows(t, "", "   ", 1, false, false, "\n"), {}},
            {"minutes", rows(t, "Time (min),Signal (mV)\n", ",", 60, false, false, "\n"), {}},
            {"milliseconds", rows(t, "time_ms,signal\n", ",", 1e-3, false, false, "\n"), {}},
            {"sixteen bits a letter",
             wide(rows(t, "time_s,signal\n", ",", 1, false, false, "\r\n")),
             {}},
            {"a preamble",
             rows(t,
                  "Sample: unknown\nOperator; N. N.\n\nStarted 2026-03-02\ntime [s],detector\n",
                  ",",
                  1,
                  false,
                  false,
                  "\n"),
             {}},
            {"no time", bare, {family.rate_hz}}};
        auto const plain = trace::find_peaks(t, 1);
        ASSERT_GT(plain.peaks.size(), 5U);
        auto const compare = [&](trace::Trace const& read, char const* name) {
            auto const got = trace::find_peaks(read, 1);
            ASSERT_EQ(got.peaks.size(), plain.peaks.size()) << name;
            for (std::size_t k = 0; k < got.peaks.size(); ++k) {
                auto const &a = got.peaks[k], &b = plain.peaks[k];
                EXPECT_NEAR(a.area, b.area, 1e-6 * std::abs(b.area)) << name;
                EXPECT_NEAR(a.area_u, b.area_u, 1e-3 * b.area_u) << name;
                EXPECT_NEAR(a.apex_s, b.apex_s, 1e-4) << name;
            }
        };
        for (auto const& dress : dresses) {
            auto const read = trace::read_trace(dress.bytes, dress.name, dress.options);
            ASSERT_TRUE(read) << dress.name << ": " << read.error().what;
            compare(*read, dress.name);
        }
        auto dated = t;  // the layout wants a start
        dated.start = parse_instant("2026-03-02T10:00:00Z", "test").value();
        auto const bytes = trace::netcdf_bytes(dated, 1);
        ASSERT_TRUE(bytes) << bytes.error().what;
        auto const read = trace::read_netcdf(*bytes, "netCDF");
        ASSERT_TRUE(read) << read.error().what;
        compare(*read, "netCDF");
    }
}

}  // namespace
}  // namespace gw::truth
