#pragma once
/// Evidence as it lies in the store: compressed, with the hash of what lies there.
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace gw::store {

Result<std::string> packed(std::string_view bytes);
/// `size`: what is expected; another one, or damage, is an error.
Result<std::string> unpacked(std::string_view kept, std::size_t size);

}  // namespace gw::store
