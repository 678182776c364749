#include "app/context.hpp"

#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "base/file.hpp"

namespace gw::app {

void Context::finish(Result<Answer> const& answer, bool as_json) {
    if (!answer) {
        fmt::print(stderr, "gaswright: {}\n", one_line(answer.error()));
        exit_code_ = gw::exit_code(answer.error().code);
        return;
    }
    if (!as_json)
        for (auto const& warning : answer->warnings)
            fmt::print(stderr, "gaswright: note: {}\n", warning);
    if (auto const written = write_file("-", as_json ? to_text(answer->json) : answer->text);
        !written) {
        fmt::print(stderr, "gaswright: {}\n", one_line(written.error()));
        exit_code_ = gw::exit_code(written.error().code);
        return;
    }
    exit_code_ = answer->favourable ? 0 : 1;
}

Instant Context::now() const {
    using std::chrono::duration_cast, std::chrono::milliseconds, std::chrono::system_clock;
    return {duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count(), 0};
}

Date Context::today() const { return date_of(now()); }

}  // namespace gw::app
