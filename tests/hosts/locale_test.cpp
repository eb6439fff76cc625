// Decimal commas, grouped digits, a dotless i, bytes that are not UTF-8: no answer and no error knows of
// them. Locales are made at build time (CMakeLists.txt), so that the machine needs none but their
// descriptions.

#include <clocale>
#include <cstdlib>
#include <locale>
#include <sstream>
#include <thread>

#include "undisturbed.hpp"

// Of the C library, which keeps where locales were looked for.
extern "C" __attribute__((visibility("default"))) const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:__argz_add_sep\n"; }

namespace hosts {
namespace {

std::string one_and_a_half() {
  char text[16];
  std::snprintf(text, sizeof text, "%.1f", 1.5);
  return text;
}

struct Foreign {
  const char* name;
  const char* one_and_a_half;  ///< as it is printed there
};
std::ostream& operator<<(std::ostream& out, const Foreign& one) { return out << one.name; }
/// ps_AF's decimal point is two bytes long; ISO-8859-9 is Turkish and no UTF-8; C is ASCII.
constexpr Foreign locales[] = {{"de_DE.UTF-8", "1,5"},
                               {"tr_TR.UTF-8", "1,5"},
                               {"tr_TR.ISO-8859-9", "1,5"},
                               {"ps_AF.UTF-8", "1\u066b5"},
                               {"C", "1.5"}};

class Locales : public testing::Test {
 protected:
  void SetUp() override {
    ASSERT_NE(std::setlocale(LC_ALL, "C.UTF-8"), nullptr);
    undisturbed();
  }
  void TearDown() override {
    std::setlocale(LC_ALL, "C");
    std::locale::global(std::locale::classic());
  }
};

class Locale : public Locales, public testing::WithParamInterface<Foreign> {};

TEST_P(Locale, of_the_process_changes_nothing) {
  ASSERT_NE(std::setlocale(LC_ALL, GetParam().name), nullptr) << GetParam().name << " was not made";
  ASSERT_EQ(one_and_a_half(), GetParam().one_and_a_half);
  const std::vector<std::string> answers = answers_here();
  EXPECT_EQ(one_and_a_half(), GetParam().one_and_a_half) << "the host's locale stays";
  std::setlocale(LC_ALL, "C");
  expect_undisturbed(answers);
}

TEST_P(Locale, of_a_thread_changes_nothing) {
  std::vector<std::string> answers;
  std::thread([&] {
    const locale_t own = newlocale(LC_ALL_MASK, GetParam().name, nullptr);
    ASSERT_NE(own, nullptr) << GetParam().name << " was not made";
    uselocale(own);
    ASSERT_EQ(one_and_a_half(), GetParam().one_and_a_half);
    answers = answers_here();
    EXPECT_EQ(uselocale(nullptr), own) << "the thread's locale stays";
    uselocale(LC_GLOBAL_LOCALE);
    freelocale(own);
  }).join();
  expect_undisturbed(answers);
}

/// Digits in pairs, a semicolon for the point, and words for true and false.
struct Odd : std::numpunct<char> {
  char do_decimal_point() const override { return ';'; }
  char do_thousands_sep() const override { return '.'; }
  std::string do_grouping() const override { return "\2"; }
  std::string do_truename() const override { return "ja"; }
};

TEST_F(Locales, of_cplusplus_changes_nothing) {
  std::locale::global(std::locale(std::locale("tr_TR.UTF-8"), new Odd));
  std::ostringstream text;
  text << 123456 << ' ' << 1.5;
  ASSERT_EQ(text.str(), "12.34.56 1;5");
  const std::vector<std::string> answers = answers_here();
  std::locale::global(std::locale::classic());
  expect_undisturbed(answers);
}

std::string name_of(const testing::TestParamInfo<Foreign>& info) {
  std::string name = info.param.name;
  for (char& c : name)
    if (std::isalnum(static_cast<unsigned char>(c)) == 0) c = '_';
  return name;
}
INSTANTIATE_TEST_SUITE_P(All, Locale, testing::ValuesIn(locales), name_of);

}  // namespace
}  // namespace hosts
