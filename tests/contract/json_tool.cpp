// json_tool valid | get POINTER | near POINTER VALUE WITHIN: reads JSON on standard input for the
// scripts of this folder. Exit code 1 when it does not hold.
#include <cmath>
#include <cstdlib>
#include <exception>
#include <iostream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

int main(int argc, char** argv) try {
    std::vector<std::string> const words(argv + 1, argv + argc);
    std::string const text(std::istreambuf_iterator<char>(std::cin), {});
    auto const document =
        nlohmann::ordered_json::parse(text);  // refuses anything after the document
    if (words.at(0) == "valid") return document.is_object() ? 0 : 1;
    auto const& value = document.at(nlohmann::ordered_json::json_pointer(words.at(1)));
    if (words.at(0) == "get") {
        std::cout << (value.is_string() ? value.get<std::string>() : value.dump()) << "\n";
        return 0;
    }
    if (words.at(0) == "near") {
        double const got = value.get<double>();
        return std::abs(got - std::stod(words.at(2))) <= std::stod(words.at(3)) ? 0 : 1;
    }
    return 2;
} catch (std::exception const& problem) {
    std::cerr << problem.what() << "\n";
    return 1;
}
