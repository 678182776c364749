#pragma once
/// What every command shares: where its answer goes and how the program ends.
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "base/json.hpp"
#include "base/result.hpp"
#include "base/time.hpp"

namespace gw::app {

/// The answer of a command in both forms.
// NOLINTNEXTLINE(bugprone-exception-escape): moving JSON is declared noexcept by its library
struct Answer {
    Json json;         ///< printed with --json, and nothing else then
    std::string text;  ///< printed without
    std::vector<std::string>
        warnings;            ///< on standard error without --json (the JSON holds its own)
    bool favourable = true;  ///< false: exit code 1
};

class Context {
  public:
    /// Prints the answer or the error and settles the exit code: the only place that does either.
    void finish(Result<Answer> const& answer, bool as_json);
    [[nodiscard]] int exit_code() const { return exit_code_; }
    [[nodiscard]] Date today() const;  ///< the one place that reads the calendar
    [[nodiscard]] Instant now() const;

  private:
    int exit_code_ = 0;
};

}  // namespace gw::app
