#pragma once
/// Calendar dates and instants, UTC inside. The clock itself is an argument, never read here.
#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace gw {

/// A day of the proleptic Gregorian calendar, counted from 1970-01-01.
struct Date {
    std::int64_t days{};
    // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 misreads a defaulted comparison
    friend constexpr auto operator<=>(Date const&, Date const&) = default;
};

/// Milliseconds since 1970-01-01T00:00:00Z, with the offset the time was written in.
struct Instant {
    std::int64_t milliseconds{};
    int offset_minutes{};
};

/// "2026-03-02". `where` names the field in the error.
Result<Date> parse_date(std::string_view text, std::string const& where);
/// ISO 8601 with seconds optional and offset required: "2026-03-02T10:15:00+01:00" or "...Z".
/// A blank instead of T is taken.
Result<Instant> parse_instant(std::string_view text, std::string const& where);
std::string to_text(Date date);
std::string to_text(Instant instant);
Date date_of(Instant instant);  ///< the day in the instant's own offset
constexpr std::int64_t days_between(Date from, Date to) { return to.days - from.days; }

}  // namespace gw
