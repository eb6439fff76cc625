// A program of somebody else's, in C++: the same lots through the wrapper.
#include <buttonworth_schedule.hpp>
#include <cstdio>

int main() {
  bw::Context context;
  const bw::Answer schedule = bw::allocate(context, R"({
    "format": "buttonworth-allocation/1", "currency": "USD", "prices": {"Au": "100 USD/g"}, "discount": "0 %/a",
    "lots": {"K-1": {"wet_mass": "300 kg", "assays": {"Au": "50 g/t"}},
             "K-2": {"wet_mass": "200 kg", "assays": {"Au": "80 g/t"}}},
    "terms": {"smelter": {"buys": "concentrate", "accepts": {"mass": {"min": "400 kg"}},
                          "pay": {"Au": {"share": "90 %"}}}},
    "routes": {"sold": {"sell": "smelter"}}})");
  try {
    bw::allocate(context, "{}");
    return 1;
  } catch (const bw::Error& error) {
    if (error.status() != BW_DOCUMENT_MISSING_FIELD) return 1;
  }
  std::printf("%d lots joined leave %.2f\n", static_cast<int>(schedule.count("/shipments/0/lots")),
              schedule.number("/present_value"));
}
