#include "base/time.hpp"

#include <fmt/format.h>

#include <chrono>
#include <optional>

#include "base/text.hpp"

namespace gw {

namespace {

std::optional<int> digits(std::string_view text, std::size_t at, std::size_t count) {
    if (at + count > text.size()) return std::nullopt;
    int value = 0;
    for (std::size_t i = at; i < at + count; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

std::optional<Date> date_at_start(std::string_view text) {
    auto const year = digits(text, 0, 4), month = digits(text, 5, 2), day = digits(text, 8, 2);
    if (!year || !month || !day || text[4] != '-' || text[7] != '-') return std::nullopt;
    std::chrono::year_month_day const ymd{std::chrono::year(*year),
                                          std::chrono::month(static_cast<unsigned>(*month)),
                                          std::chrono::day(static_cast<unsigned>(*day))};
    if (!ymd.ok()) return std::nullopt;
    return Date{std::chrono::sys_days(ymd).time_since_epoch().count()};
}

}  // namespace

Result<Date> parse_date(std::string_view text, std::string const& where) {
    text = trimmed(text);
    if (auto const date = date_at_start(text); date && text.size() == 10) return *date;
    return fail(Errc::bad_input,
                fmt::format("\"{}\" is not a date.", text.substr(0, 40)),
                where,
                "write year-month-day, for example 2026-03-02");
}

Result<Instant> parse_instant(std::string_view text, std::string const& where) {
    text = trimmed(text);
    auto const bad = [&] {
        return fail(Errc::bad_input,
                    fmt::format("\"{}\" is not a time with offset.", text.substr(0, 40)),
                    where,
                    "write for example 2026-03-02T10:15:00+01:00");
    };
    auto const date = date_at_start(text);
    if (!date || text.size() < 17 || (text[10] != 'T' && text[10] != ' ' && text[10] != 't'))
        return bad();
    auto const hour = digits(text, 11, 2), minute = digits(text, 14, 2);
    if (!hour || !minute || text[13] != ':' || *hour > 23 || *minute > 59) return bad();
    std::int64_t ms = ((date->days * 24 + *hour) * 60 + *minute) * 60000;
    std::size_t at = 16;
    if (text[at] == ':') {
        auto const second = digits(text, 17, 2);
        if (!second || *second > 60) return bad();
        ms += std::int64_t{1000} * *second;
        at = 19;
        if (at < text.size() && (text[at] == '.' || text[at] == ',')) {
            std::int64_t scale = 100;
            for (++at; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at, scale /= 10)
                ms += (text[at] - '0') * scale;
        }
    }
    auto const rest = text.substr(at);
    if (rest == "Z" || rest == "z") return Instant{ms, 0};
    if (rest.size() < 3 || (rest[0] != '+' && rest[0] != '-')) return bad();
    auto const offset_hour = digits(rest, 1, 2);
    std::size_t const minutes_at = rest.size() > 3 && rest[3] == ':' ? 4 : 3;
    auto const offset_minute =
        rest.size() > 3 ? digits(rest, minutes_at, 2) : std::optional<int>(0);
    if (!offset_hour || !offset_minute || *offset_hour > 14 || *offset_minute > 59 ||
        (rest.size() > 3 && rest.size() != minutes_at + 2))
        return bad();
    int const offset = (rest[0] == '-' ? -1 : 1) * (*offset_hour * 60 + *offset_minute);
    return Instant{ms - offset * std::int64_t{60000}, offset};
}

std::string to_text(Date date) {
    std::chrono::year_month_day const ymd{std::chrono::sys_days(std::chrono::days(date.days))};
    return fmt::format("{:04}-{:02}-{:02}",
                       static_cast<int>(ymd.year()),
                       static_cast<unsigned>(ymd.month()),
                       static_cast<unsigned>(ymd.day()));
}

Date date_of(Instant instant) {
    std::int64_t const local = instant.milliseconds + instant.offset_minutes * std::int64_t{60000};
    constexpr std::int64_t day = 86400000;
    return Date{local >= 0 ? local / day : -((-local + day - 1) / day)};
}

std::string to_text(Instant instant) {
    std::int64_t const local = instant.milliseconds + instant.offset_minutes * std::int64_t{60000};
    Date const date = date_of(instant);
    std::int64_t const ms = local - date.days * 86400000;
    auto text = fmt::format(
        "{}T{:02}:{:02}:{:02}", to_text(date), ms / 3600000, ms / 60000 % 60, ms / 1000 % 60);
    if (ms % 1000 != 0) text += fmt::format(".{:03}", ms % 1000);
    if (instant.offset_minutes == 0) return text + "Z";
    int const offset = std::abs(instant.offset_minutes);
    return text +
           fmt::format(
               "{}{:02}:{:02}", instant.offset_minutes < 0 ? '-' : '+', offset / 60, offset % 60);
}

}  // namespace gw
