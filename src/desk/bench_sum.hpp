#pragma once
/// The use-case behind `gaswright bench leak|purge|lag|...`.
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "bench/sum.hpp"

namespace gw::desk {

struct BenchRequest {
    std::string sum;                  ///< its name
    std::optional<std::string> file;  ///< inputs as JSON; "-": standard input
    std::vector<std::pair<std::string, std::string>> options;  ///< key and what was written
    std::vector<std::string> show;                             ///< "KEY=UNIT"
};
struct BenchAnswer {
    Json json;
    std::string text;
    std::vector<std::string> warnings;
    bool favourable = true;
};
/// Paths inside the file are relative to it.
Result<BenchAnswer> bench_sum(BenchRequest const& request);

}  // namespace gw::desk
