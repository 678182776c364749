#include "trace/trace_file.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>

#include "base/file.hpp"
#include "base/hash.hpp"

namespace gw::trace {
namespace {

using namespace std::string_literals;

std::string rows(std::function<std::string(int)> const& row, int count = 40) {
    std::string out;
    for (int i = 0; i < count; ++i) out += row(i) + "\n";
    return out;
}

/// What every accepted form below holds: 40 samples at 50 Hz, signal 1.5 + i/4.
float expected(int i) { return 1.5F + 0.25F * static_cast<float>(i); }

std::string with_decimal_comma(std::string text) {
    std::ranges::replace(text, '.', ',');
    return text;
}

std::string utf16(std::string_view ascii, bool big_endian) {
    std::string out = big_endian ? "\xFE\xFF"s : "\xFF\xFE"s;
    for (char const c : ascii) {
        if (big_endian) out += '\0';
        out += c;
        if (!big_endian) out += '\0';
    }
    return out;
}

std::string plain_rows(std::string_view delimiter, double per_second = 1, int decimals = 2) {
    return rows([&](int i) {
        return fmt::format("{:.{}f}{}{:.2f}",
                           i * 0.02 * per_second,
                           decimals,
                           delimiter,
                           static_cast<double>(expected(i)));
    });
}

std::string replaced(std::string text, std::string_view from, std::string_view to) {
    for (auto at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
    return text;
}

struct Form {
    char const* name;
    std::string text;
    char const* unit = "mV";
    std::optional<double> rate_hz{};
    std::size_t detectors = 1;
    std::size_t signal = 0;  ///< the detector that holds `expected`
};

void PrintTo(Form const& form, std::ostream* out) { *out << form.name; }

std::vector<Form> forms() {
    auto const own = "time_s,signal\n" + plain_rows(",");
    auto const one_column =
        rows([](int i) { return fmt::format("{:.2f}", static_cast<double>(expected(i))); });
    return {
        {"own", own},
        {"own_with_header_lines",
         "# start: 2026-03-02T10:15:00+01:00\n# unit: uV\n# gas: line\n" + own,
         "uV"},
        {"second_detector",
         "time_s,signal,signal_2\n" + rows([](int i) {
             return fmt::format("{:.2f},{:.2f},{}", i * 0.02, static_cast<double>(expected(i)), -i);
         }),
         "mV",
         {},
         2},
        {"semicolon", "time_s;signal\n" + plain_rows(";")},
        {"tab", "time_s\tsignal\n" + plain_rows("\t")},
        {"one_blank", "time_s signal\n" + plain_rows(" ")},
        {"many_blanks",
         "  time_s    signal\n" + replaced("\n" + plain_rows("    "), "\n", "\n   ")},
        {"comma_and_blank", "time_s, signal\n" + plain_rows(", ")},
        {"titles_with_blanks_between_blanks", "Time (s)  TCD A [V]\n" + plain_rows("  "), "V"},
        {"decimal_comma_semicolon", "Zeit [s];Signal [mV]\n" + with_decimal_comma(plain_rows(";"))},
        {"decimal_comma_tab", "time_s\tsignal\n" + with_decimal_comma(plain_rows("\t"))},
        {"decimal_comma_blanks", "time_s signal\n" + with_decimal_comma(plain_rows("  "))},
        {"decimal_comma_blanks_no_titles", with_decimal_comma(plain_rows(" "))},
        {"quoted_decimal_comma",
         "\"time_s\",\"signal\"\n" + rows([](int i) {
             return with_decimal_comma(
                 fmt::format("\"{:.2f}\"_\"{:.2f}\"", i * 0.02, static_cast<double>(expected(i))));
         })},
        {"quoted_with_doubled_quotes", "\"time_s\",\"the \"\"signal\"\"\"\n" + rows([](int i) {
                                           return fmt::format("\"{:.2f}\",\"{:.2f}\"",
                                                              i * 0.02,
                                                              static_cast<double>(expected(i)));
                                       })},
        {"preamble",
         "Instrument: X 12\nSample Name;foo\nDate;2026-03-02\n12345\nsome, words; "
         "and\tmore\n\nTime;Signal\n" +
             plain_rows(";")},
        {"preamble_no_titles", "Instrument: X\n1 2 3\nfoo\n" + plain_rows(";")},
        {"units_row_minutes", "Time,Detector A\nmin,V\n" + plain_rows(",", 1 / 60.0, 7), "V"},
        {"units_row_in_brackets", "Time\tSignal\n(s)\t(\xB5V)\n" + plain_rows("\t"), "\xC2\xB5V"},
        {"units_row_milliseconds", "Zeit;Wert\n[ms];[mV]\n" + plain_rows(";", 1000, 0)},
        {"units_only", "min;mV\n" + plain_rows(";", 1 / 60.0, 6)},
        {"no_titles", plain_rows(",")},
        {"titles_behind_a_comment_sign", "# time_min signal\n" + plain_rows(" ", 1 / 60.0, 6)},
        {"number_sign_as_a_title",
         "#\ttime_s\tsignal\n" + rows([](int i) {
             return fmt::format(
                 "{}\t{:.2f}\t{:.2f}", i + 1, i * 0.02, static_cast<double>(expected(i)));
         })},
        {"short_name_that_is_also_a_unit", "t;s\n" + plain_rows(";")},
        {"no_titles_decimal_comma", with_decimal_comma(plain_rows(";"))},
        {"minutes_in_title", "Time (min),Signal\n" + plain_rows(",", 1 / 60.0, 5)},
        {"milliseconds_in_title", "time_ms,signal\n" + plain_rows(",", 1000, 0)},
        {"short_titles", "t [s],U [mV]\n" + plain_rows(",")},
        {"hours", "time/h,signal\n" + plain_rows(",", 1 / 3600.0, 9)},
        {"time_unit_in_header", "# time_unit: min\ntime,signal\n" + plain_rows(",", 1 / 60.0, 6)},
        {"unknown_titles", "Abszisse;Ordinate\n" + plain_rows(";")},
        {"index_column", "index,time_s,signal\n" + rows([](int i) {
                             return fmt::format(
                                 "{},{:.2f},{:.2f}", i, i * 0.02, static_cast<double>(expected(i)));
                         })},
        {"index_column_no_titles", rows([](int i) {
             return fmt::format(
                 "{},{:.2f},{:.2f}", i + 1, i * 0.02, static_cast<double>(expected(i)));
         })},
        {"no_time_rate_option", "signal\n" + one_column, "mV", 50.0},
        {"no_time_no_titles", one_column, "mV", 50.0},
        {"no_time_decimal_comma", with_decimal_comma(one_column), "mV", 50.0},
        {"no_time_rate_in_header", "# rate_hz: 50\nsignal\n" + one_column},
        {"no_time_interval_in_header", "# interval: 20 ms\nsignal\n" + one_column},
        {"no_time_two_signals",
         "signal,signal_2\n" + rows([](int i) {
             return fmt::format("{:.2f},{:.2f}", static_cast<double>(expected(i)), 7.0 + i % 3);
         }),
         "mV",
         50.0,
         2},
        {"no_time_two_signals_no_titles",
         rows([](int i) {
             return fmt::format("{};{:.2f}", 7 + i % 3, static_cast<double>(expected(i)));
         }),
         "mV",
         50.0,
         2,
         1},
        {"mark_utf8", "\xEF\xBB\xBF" + own},
        {"utf16_little", utf16(own, false)},
        {"utf16_big", utf16(own, true)},
        {"latin1", "Zeit [s];Spannung [\xB5V]\n" + plain_rows(";"), "\xC2\xB5V"},
        {"crlf", replaced(own, "\n", "\r\n")},
        {"lone_cr", replaced(own, "\n", "\r")},
        {"no_final_line_end", own.substr(0, own.size() - 1)},
        {"blank_lines_and_comments_at_the_end", own + "\n\n# done: yes\n  \n"},
        {"trailing_delimiter", "time_s;signal;\n" + replaced(plain_rows(";"), "\n", ";\n")},
        {"plus_signs_and_exponents",
         "time_s,signal\n" + rows([](int i) {
             return fmt::format("+{:.2f},{:+.4e}", i * 0.02, static_cast<double>(expected(i)));
         })},
        {"time_twice",
         "time_s,time_min,signal\n" + rows([](int i) {
             return fmt::format(
                 "{:.2f},{:.4f},{:.2f}", i * 0.02, i * 0.02 / 60, static_cast<double>(expected(i)));
         })},
    };
}

class TraceForm : public testing::TestWithParam<Form> {};

TEST_P(TraceForm, ReadsToTheSameSamples) {
    auto const& form = GetParam();
    auto text = form.text;
    if (form.name == "quoted_decimal_comma"s) text = replaced(text, "\"_\"", "\",\"");
    auto const trace = read_trace(text, "run.csv", {.rate_hz = form.rate_hz});
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_EQ(trace->interval_s, 0.02);
    EXPECT_EQ(trace->start_s, 0);
    EXPECT_EQ(trace->unit, form.unit);
    EXPECT_TRUE(trace->gaps.empty());
    EXPECT_EQ(trace->hash, sha256(text));
    ASSERT_EQ(trace->signals.size(), form.detectors);
    ASSERT_EQ(trace->samples(), 40U);
    for (int i = 0; i < 40; ++i)
        EXPECT_EQ(trace->signals[form.signal][static_cast<std::size_t>(i)], expected(i)) << i;
}

INSTANTIATE_TEST_SUITE_P(Every, TraceForm, testing::ValuesIn(forms()), [](auto const& each) {
    return std::string(each.param.name);
});

struct Refusal {
    char const* name;
    std::string text;
    char const* where;
    char const* says;
};

void PrintTo(Refusal const& refusal, std::ostream* out) { *out << refusal.name; }

/// own file with line `line` (1 is the title row) replaced.
std::string broken(int line, std::string_view by, std::string_view delimiter = ",") {
    std::string out = "time_s" + std::string(delimiter) + "signal\n";
    for (int i = 0; i < 40; ++i)
        out += i + 2 == line ? std::string(by) + "\n"
                             : fmt::format("{:.2f}{}{:.2f}\n", i * 0.02, delimiter, 1.5 + i);
    return out;
}

std::vector<Refusal> refusals() {
    auto const no_titles = [](int line, std::string_view by) {
        return broken(line + 1, by).substr(14);
    };
    return {
        {"nan", broken(5, "0.06,nan"), "run.csv:5", "nan"},
        {"nan_in_the_first_row", broken(2, "0,NaN"), "run.csv:2", "NaN"},
        {"infinity", broken(7, "0.1,inf"), "run.csv:7", "inf"},
        {"overflow", broken(7, "0.1,1e39"), "run.csv:7", "1e39"},
        {"overflow_of_double", broken(7, "0.1,1e999"), "run.csv:7", "1e999"},
        {"empty_cell", broken(9, "0.14,"), "run.csv:9", "missing"},
        {"text_in_the_first_row", broken(2, "0,abc"), "run.csv:2", "abc"},
        {"text_in_the_second_row", broken(3, "0.02,abc"), "run.csv:3", "abc"},
        {"text_in_the_third_row", broken(4, "abc,1"), "run.csv:4", "abc"},
        {"text_later", broken(30, "0.56,1.5x"), "run.csv:30", "1.5x"},
        {"text_first_row_no_titles", no_titles(1, "0.00,abc"), "run.csv:1", "abc"},
        {"text_second_row_no_titles", no_titles(2, "0.02,abc"), "run.csv:2", "abc"},
        {"text_third_row_no_titles", no_titles(3, "abc"), "run.csv:3", "abc"},
        {"nan_in_the_first_row_no_titles", no_titles(1, "0.00,nan"), "run.csv:1", "nan"},
        {"backward_time", broken(6, "0.05,1"), "run.csv:6", "goes back"},
        {"backward_time_no_titles", no_titles(6, "0.05,1"), "run.csv:6", "goes back"},
        {"repeated_time", broken(6, "0.06,1"), "run.csv:6", "twice"},
        {"truncated_last_row", broken(41, "0.78"), "run.csv:41", "1 column"},
        {"extra_column", broken(20, "0.36,1,2"), "run.csv:20", "3 columns"},
        {"summary_after_the_rows", broken(0, "") + "End of data\n", "run.csv:42", "End of data"},
        {"thousands",
         replaced(broken(20, "0.36,\"1.234,5\""), "\r", ""),
         "run.csv:20",
         "both points and commas"},
        {"thousands_semicolon",
         replaced(with_decimal_comma(broken(20, "0.36;1_234.5", ";")), "_", "."),
         "run.csv:20",
         "both points and commas"},
        {"commas_for_both",
         "time_s,signal\n" + with_decimal_comma(plain_rows(",")),
         "run.csv:2",
         "Commas both"},
        {"too_short",
         "time_s,signal\n" + rows([](int i) { return fmt::format("{},1", i); }, 15),
         "run.csv",
         "15 samples"},
        {"one_row", "time_s,signal\n0,1\n", "run.csv", "1 sample;"},
        {"titles_only", "time_s,signal\n", "run.csv", "no rows"},
        {"empty", "", "run.csv", "empty"},
        {"blank", " \n\n", "run.csv", "empty"},
        {"binary",
         "\x7F"
         "ELF\x01\x02"s,
         "run.csv",
         "binary"},
        {"constant_time",
         "time_s,signal\n" + rows([](int i) { return fmt::format("5,{}", i); }),
         "run.csv:3",
         "twice"},
        {"unknown_time_unit", "Time (ticks),Signal\n" + plain_rows(","), "run.csv:1", "ticks"},
        {"unknown_unit_in_units_row",
         "Time,Signal\n(ticks),(mV)\n" + plain_rows(","),
         "run.csv:1",
         "ticks"},
        {"no_time_no_rate",
         "signal\n" + rows([](int i) { return fmt::format("{}", i % 5); }),
         "run.csv",
         "sampling rate"},
        {"bad_start", "# start: yesterday\n" + broken(0, ""), "run.csv:1", "yesterday"},
        {"bad_rate",
         "# rate_hz: fast\nsignal\n" + rows([](int i) { return fmt::format("{}", i % 5); }),
         "run.csv:1",
         "fast"},
        {"mostly_holes",
         "time_s,signal\n" + rows([](int i) { return fmt::format("{},1", i < 39 ? i : 1000000); }),
         "run.csv",
         "missing"},
        {"titles_and_rows_differ",
         "time_s,signal,signal_2\n" + plain_rows(","),
         "run.csv:1",
         "3 columns"},
        {"wide",
         rows([](int i) {
             std::string row = fmt::format("{}", i);
             for (int c = 0; c < 64; ++c) row += ",1";
             return row;
         }),
         "run.csv:1",
         "65 columns"},
        {"two_times_that_differ",
         "time_s,signal,time_s,signal\n" +
             rows([](int i) { return fmt::format("{},1,{},2", i, 3 * i); }),
         "run.csv:1",
         "two time columns"},
    };
}

class TraceRefusal : public testing::TestWithParam<Refusal> {};

TEST_P(TraceRefusal, NamesThePlaceAndTheReason) {
    auto const& refusal = GetParam();
    auto const trace = read_trace(refusal.text, "run.csv");
    ASSERT_FALSE(trace) << trace->samples();
    EXPECT_EQ(trace.error().where, refusal.where) << one_line(trace.error());
    EXPECT_NE(trace.error().what.find(refusal.says), std::string::npos) << one_line(trace.error());
    EXPECT_EQ(exit_code(trace.error().code), 2);
}

INSTANTIATE_TEST_SUITE_P(Every, TraceRefusal, testing::ValuesIn(refusals()), [](auto const& each) {
    return std::string(each.param.name);
});

TEST(TraceFile, KeepsTheHeader) {
    auto const trace =
        read_trace("# Start: 2026-03-02T10:15:00+01:00\n# analyser: GC-1\n# ambient_kpa: 99.1\n" +
                       broken(0, ""),
                   "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    ASSERT_TRUE(trace->start);
    EXPECT_EQ(to_text(*trace->start), "2026-03-02T10:15:00+01:00");
    EXPECT_EQ(trace->header.at("ambient_kpa"), "99.1");
    EXPECT_EQ(trace->header.at("analyser"), "GC-1");
}

TEST(TraceFile, FillsAGapByAStraightLineAndSaysSo) {
    std::string text = "time_s,signal\n";
    for (int i = 0; i < 100; ++i)
        if (i < 30 || i >= 40) text += fmt::format("{:.2f},{}\n", i * 0.02, i);
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    ASSERT_EQ(trace->gaps.size(), 1U);
    EXPECT_EQ(trace->gaps[0].first, 30U);
    EXPECT_EQ(trace->gaps[0].last, 39U);
    ASSERT_EQ(trace->samples(), 100U);
    for (std::size_t i = 0; i < 100; ++i)
        EXPECT_NEAR(trace->signals[0][i], static_cast<double>(i), 1e-5);
    ASSERT_EQ(trace->warnings.size(), 1U);
    EXPECT_NE(trace->warnings[0].find("10 of 100"), std::string::npos) << trace->warnings[0];
    auto const again = read_trace(trace_csv(*trace), "again.csv");
    ASSERT_TRUE(again) << one_line(again.error());
    EXPECT_EQ(again->signals, trace->signals);
    ASSERT_EQ(again->gaps.size(), 1U);
    EXPECT_EQ(again->gaps[0].last, 39U);
}

TEST(TraceFile, FindsOneLostSampleAmongWholeSeconds) {
    std::string text = "time_s,signal\n";
    for (int i = 0; i < 50; ++i)
        if (i != 20) text += fmt::format("{},{}\n", i, i);
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_EQ(trace->interval_s, 1);
    ASSERT_EQ(trace->gaps.size(), 1U);
    EXPECT_EQ(trace->gaps[0].first, 20U);
}

struct Rounded {
    double rate_hz;
    double per_second;
    int decimals;
    char const* title;
};

void PrintTo(Rounded const& r, std::ostream* out) {
    *out << fmt::format("{} Hz as {} with {} decimals", r.rate_hz, r.title, r.decimals);
}

class PrintedRounding : public testing::TestWithParam<Rounded> {};

TEST_P(PrintedRounding, DoesNotAddUp) {
    auto const& [rate, per_second, decimals, heading] = GetParam();
    std::string text = fmt::format("{},signal\n", heading);
    constexpr int count = 12000;
    for (int i = 0; i < count; ++i)
        text += fmt::format("{:.{}f},{}\n", i / rate * per_second, decimals, i % 7);
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_TRUE(trace->gaps.empty());
    ASSERT_EQ(trace->samples(), static_cast<std::size_t>(count));
    EXPECT_DOUBLE_EQ(trace->interval_s, 1 / rate);
    for (std::size_t i = 0; i < trace->samples(); ++i)
        ASSERT_EQ(trace->signals[0][i], static_cast<float>(i % 7));
}

INSTANTIATE_TEST_SUITE_P(Every,
                         PrintedRounding,
                         testing::Values(Rounded{30, 1, 3, "time_s"},
                                         Rounded{30, 1, 7, "time_s"},
                                         Rounded{50, 1 / 60.0, 4, "Time (min)"},
                                         Rounded{10, 1 / 60.0, 3, "Time (min)"},
                                         Rounded{1, 1 / 60.0, 2, "Time (min)"},
                                         Rounded{60, 1000, 0, "time_ms"},
                                         Rounded{25, 1, 2, "time_s"},
                                         Rounded{12.5, 1, 2, "time_s"}));

TEST(TraceFile, PutsJitteringTimesOnAGrid) {
    std::string text = "time_s,signal\n";
    for (int i = 0; i < 200; ++i) {
        double const t = 0.1 * i + (i % 3 == 1 ? 0.04 : 0);
        text += fmt::format("{:.3f},{:.4f}\n", t, 2 * t);
    }
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_NEAR(trace->interval_s, 0.1, 1e-4);
    ASSERT_EQ(trace->warnings.size(), 1U);
    for (std::size_t i = 0; i < trace->samples(); ++i)
        EXPECT_NEAR(trace->signals[0][i], 2 * trace->time(i), 1e-4)
            << "a straight signal stays straight";
}

TEST(TraceFile, KeepsSmallJitterAsItIs) {
    std::string text = "time_s,signal\n";
    for (int i = 0; i < 200; ++i)
        text += fmt::format("{:.4f},{}\n", 0.1 * i + 0.003 * std::sin(i), i);
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_NEAR(trace->interval_s, 0.1, 1e-5);
    EXPECT_TRUE(trace->warnings.empty());
    for (std::size_t i = 0; i < 200; ++i) EXPECT_EQ(trace->signals[0][i], static_cast<float>(i));
}

TEST(TraceFile, SaysWhenAGivenRateIsNotUsed) {
    auto const trace = read_trace(broken(0, ""), "run.csv", {.rate_hz = 10});
    ASSERT_TRUE(trace);
    EXPECT_EQ(trace->interval_s, 0.02);
    EXPECT_EQ(trace->warnings.size(), 1U);
    EXPECT_FALSE(read_trace(broken(0, ""), "run.csv", {.rate_hz = 0}));
}

TEST(TraceFile, FindsADecimalSignThatComesLate) {
    std::string text = "Zeit;Signal\n";
    for (int i = 0; i < 400; ++i) text += fmt::format("{};{}\n", i, i < 300 ? "0" : "0,5");
    auto const trace = read_trace(text, "run.csv");
    ASSERT_TRUE(trace) << one_line(trace.error());
    EXPECT_EQ(trace->signals[0][350], 0.5F);
}

TEST(TraceFile, TellsAReportFromATrace) {
    EXPECT_TRUE(looks_like_report("component,mole_percent\nmethane,90\n"));
    EXPECT_TRUE(looks_like_report("# factor_kind: relative\nName;RT;Area\nmethane;1;2\n"));
    EXPECT_TRUE(looks_like_report("[{\"component\": \"methane\"}]"));
    EXPECT_TRUE(looks_like_report("methane 90,1\nethane 5,2\n"));
    EXPECT_FALSE(looks_like_report("Sample Name;foo\n" + broken(0, "")));
    EXPECT_FALSE(looks_like_report(""));
    EXPECT_FALSE(
        looks_like_report("\x7F"
                          "ELF\x01"));
}

// Every file of tests/regressions/trace once went wrong: accept_* must be read, refuse_* refused.
TEST(TraceFile, KeepsEveryRegressionMended) {
    int files = 0;
    for (auto const& entry :
         std::filesystem::directory_iterator(GW_SOURCE_DIR "/tests/regressions/trace")) {
        ++files;
        auto const bytes = read_file(entry.path().string());
        ASSERT_TRUE(bytes);
        auto const trace = read_trace(*bytes, entry.path().filename().string());
        bool const wanted = entry.path().filename().string().starts_with("accept_");
        EXPECT_EQ(trace.has_value(), wanted)
            << entry.path() << (trace ? "" : one_line(trace.error()));
    }
    EXPECT_GT(files, 0);
}

}  // namespace
}  // namespace gw::trace
