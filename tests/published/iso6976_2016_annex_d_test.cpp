// Source: ISO 6976:2016, Annex D, examples D.2, D.3 and D.4
// (data/published/iso6976_2016_annex_d.json).
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "base/file.hpp"
#include "base/text.hpp"
#include "gas/gas.hpp"

namespace gw::gas {
namespace {

struct Printed {
    double value;
    double half_digit;
};

Printed printed(std::string const& text) {
    auto const point = text.find('.');
    auto const decimals = point == std::string::npos ? 0 : text.size() - point - 1;
    return {*parse_number(text), 0.5 * std::pow(10.0, -static_cast<double>(decimals))};
}

Json const& annex_d() {
    static Json const json = Json::parse(
        *read_file(std::string(GW_SOURCE_DIR) + "/data/published/iso6976_2016_annex_d.json"));
    return json;
}

// The example as a file of ours, so that reading is part of what is checked.
Composition gas_of(Json const& example, bool with_matrix) {
    Json file{{"unit", "mol/mol"}};
    for (auto const& [name, x] : example.at("components").items())
        file["components"][name] = printed(x.get<std::string>()).value;
    for (auto const& [name, u] : example.at("standard_uncertainty").items())
        file["standard_uncertainty"][name] = printed(u.get<std::string>()).value;
    if (with_matrix)
        for (auto const& row : annex_d().at("matrix")) {
            auto numbers = Json::array();
            for (auto const& r : row) numbers.push_back(printed(r.get<std::string>()).value);
            file["correlation"].push_back(numbers);
        }
    auto const document = parse_json(to_text(file), "annex D");
    auto const gas = read_composition(document->root());
    EXPECT_TRUE(gas) << one_line(gas.error());
    return *gas;
}

Measured quantity(Iso6976Group const& group, std::string const& key) {
    for (auto const& row : quantity_rows())
        if (row.key == key) return group.*row.quantity;
    ADD_FAILURE() << key << " is no quantity";
    return {};
}

TEST(Iso6976AnnexD, EveryPrintedFigureIsReached) {
    int compared = 0;
    for (auto const& example : annex_d().at("examples"))
        for (auto const& c : example.at("cases")) {
            auto const clause =
                example.at("clause").get<std::string>() + " " + c.dump().substr(0, 80);
            auto const gas = gas_of(example, c.at("correlation") == "normalisation");
            Iso6976Options const options{
                .combustion =
                    *combustion_temperature(*parse_number(c.at("combustion_c").get<std::string>())),
                .metering =
                    *metering_temperature(*parse_number(c.at("metering_c").get<std::string>()))};
            auto const got = iso6976(gas, options);
            ASSERT_TRUE(got) << one_line(got.error());
            EXPECT_TRUE(got->warnings.empty());
            for (auto const& [key, text] : c.at("values").items()) {
                auto const expected = printed(text.get<std::string>());
                double const value = key == "sum_x_s"
                                         ? std::sqrt(1.0 - got->real.compression_factor.value)
                                         : quantity(got->real, key).value;
                EXPECT_NEAR(value, expected.value, expected.half_digit * 1.000001)
                    << clause << ": " << key;
                ++compared;
            }
            for (auto const& [key, text] : c.at("u").items()) {
                auto const expected = printed(text.get<std::string>());
                EXPECT_NEAR(
                    quantity(got->real, key).u, expected.value, expected.half_digit * 1.000001)
                    << clause << ": u of " << key;
                ++compared;
            }
        }
    EXPECT_EQ(compared, 66) << "12 values and 6 u of D.2 and D.3, 24 and 24 of D.4";
}

}  // namespace
}  // namespace gw::gas
