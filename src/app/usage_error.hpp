#pragma once
/// What was typed wrongly, in one sentence: which option or word, and which help to look at.
#include "base/result.hpp"

namespace CLI {
class App;
class ParseError;
}  // namespace CLI

namespace gw::app {

/// `program` as the failed parse left it.
Error usage_error(CLI::App const& program, CLI::ParseError const& error);

}  // namespace gw::app
