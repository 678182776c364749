#pragma once
/// base: the language every other folder speaks. No domain word lives here.
/// Start from: Result and GW_TRY (result.hpp), Quantity and Measured (quantity.hpp), Field and
/// parse_json (json.hpp). The namespace is gw itself, so that these read as words of the language.
#include "base/file.hpp"
#include "base/hash.hpp"
#include "base/json.hpp"
#include "base/matrix.hpp"
#include "base/parallel.hpp"
#include "base/quantity.hpp"
#include "base/random.hpp"
#include "base/result.hpp"
#include "base/text.hpp"
#include "base/time.hpp"
