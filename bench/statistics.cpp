#include "bench/statistics.h"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>

#include "scenes/error.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kAlpha = 0.05;
constexpr size_t kMostExact = 500;
constexpr int kMostToSettle = 1000;

double Mean(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// Unbiased; 0 for one value.
double Variance(std::span<const double> values) {
  if (values.size() < 2) return 0;
  const double mean = Mean(values);
  double sum = 0;
  for (const double value : values) sum += (value - mean) * (value - mean);
  return sum / static_cast<double>(values.size() - 1);
}

double Student(double p, double freedom) {
  return boost::math::quantile(boost::math::students_t(freedom), p);
}

size_t DrawIndex(RandomStream* random, size_t count) {
  return std::min(count - 1, static_cast<size_t>(random->Uniform(0, static_cast<double>(count))));
}

/// Value at a share of the sorted sample, linear between neighbours.
double Quantile(const std::vector<double>& sorted, double share) {
  const double at = share * static_cast<double>(sorted.size() - 1);
  const auto low = static_cast<size_t>(at);
  const size_t high = std::min(low + 1, sorted.size() - 1);
  return sorted[low] + (at - static_cast<double>(low)) * (sorted[high] - sorted[low]);
}

/// Units of the uppermost level at which there are several, which decides how far the interval is widened.
size_t UppermostCount(const NestedValues& values) {
  if (values.lessons.size() > 1) return values.lessons.size();
  const auto& people = values.lessons.front();
  return people.size() > 1 ? people.size() : people.front().size();
}

}  // namespace

SignedRank WilcoxonSignedRank(std::span<const double> differences) {
  std::vector<double> left;
  for (const double difference : differences) {
    if (difference != 0) left.push_back(difference);
  }
  SignedRank out;
  out.n = static_cast<int>(left.size());
  if (left.empty()) return out;
  if (left.size() > kMostExact) throw RunError("signed-rank test: more than 500 differences");
  std::sort(left.begin(), left.end(), [](double a, double b) { return std::abs(a) < std::abs(b); });

  // Twice the mean rank is whole, so sums can be counted.
  std::vector<size_t> doubled(left.size());
  for (size_t first = 0; first < left.size();) {
    size_t last = first;
    while (last + 1 < left.size() && std::abs(left[last + 1]) == std::abs(left[first])) ++last;
    for (size_t i = first; i <= last; ++i) doubled[i] = first + last + 2;
    first = last + 1;
  }
  const size_t total = std::accumulate(doubled.begin(), doubled.end(), size_t{0});
  size_t plus = 0;
  for (size_t i = 0; i < left.size(); ++i) plus += left[i] > 0 ? doubled[i] : 0;
  out.w_plus = 0.5 * static_cast<double>(plus);
  out.w_minus = 0.5 * static_cast<double>(total - plus);

  // Chance of each sum when every sign is a coin's.
  std::vector<double> chance(total + 1, 0);
  chance[0] = 1;
  size_t reached = 0;
  for (const size_t rank : doubled) {
    reached += rank;
    for (size_t sum = reached + 1; sum-- > 0;) {
      chance[sum] = 0.5 * (chance[sum] + (sum >= rank ? chance[sum - rank] : 0));
    }
  }
  const size_t least = std::min(plus, total - plus);
  const double tail = std::accumulate(chance.begin(), chance.begin() + static_cast<long>(least) + 1, 0.0);
  out.p = std::min(1.0, 2 * tail);
  return out;
}

std::vector<double> HolmAdjusted(std::span<const double> p) {
  std::vector<size_t> order(p.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) { return p[a] < p[b]; });
  std::vector<double> out(p.size());
  double greatest = 0;
  for (size_t i = 0; i < order.size(); ++i) {
    greatest = std::max(greatest, std::min(1.0, static_cast<double>(p.size() - i) * p[order[i]]));
    out[order[i]] = greatest;
  }
  return out;
}

double InterquartileMean(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const size_t out = values.size() / 4;
  return Mean(std::span(values).subspan(out, values.size() - 2 * out));
}

double ProbabilityGreater(std::span<const double> a, std::span<const double> b) {
  double sum = 0;
  for (const double x : a) {
    for (const double y : b) sum += x > y ? 1 : x == y ? 0.5 : 0;
  }
  return sum / (static_cast<double>(a.size()) * static_cast<double>(b.size()));
}

std::vector<double> LessonMeans(const NestedValues& values) {
  std::vector<double> out;
  for (const auto& lesson : values.lessons) {
    std::vector<double> people;
    for (const std::vector<double>& seeds : lesson) people.push_back(Mean(seeds));
    out.push_back(Mean(people));
  }
  return out;
}

double NestedMean(const NestedValues& values) {
  return Mean(LessonMeans(values));
}

Interval HierarchicalInterval(const NestedValues& values, int draws, uint64_t seed) {
  RandomStream random(seed, "hierarchical bootstrap");
  std::vector<double> means;
  means.reserve(static_cast<size_t>(draws));
  for (int draw = 0; draw < draws; ++draw) {
    double sum = 0;
    for (size_t i = 0; i < values.lessons.size(); ++i) {
      const auto& lesson = values.lessons[DrawIndex(&random, values.lessons.size())];
      double of_lesson = 0;
      for (size_t j = 0; j < lesson.size(); ++j) {
        const std::vector<double>& seeds = lesson[DrawIndex(&random, lesson.size())];
        double of_person = 0;
        for (size_t k = 0; k < seeds.size(); ++k) of_person += seeds[DrawIndex(&random, seeds.size())];
        of_lesson += of_person / static_cast<double>(seeds.size());
      }
      sum += of_lesson / static_cast<double>(lesson.size());
    }
    means.push_back(sum / static_cast<double>(values.lessons.size()));
  }
  std::sort(means.begin(), means.end());
  const auto n = static_cast<double>(UppermostCount(values));
  if (n < 2) return {means.front(), means.back()};
  const double reach = std::sqrt(n / (n - 1)) * Student(1 - kAlpha / 2, n - 1);
  const double outside = boost::math::cdf(boost::math::complement(boost::math::normal(), reach));
  return {Quantile(means, outside), Quantile(means, 1 - outside)};
}

MoreToSettle WhatWouldSettle(const NestedValues& values) {
  // Components of variance by the means of squares, for groups of about equal size.
  std::vector<double> within_person, within_lesson;
  double people = 0, seeds = 0;
  for (const auto& lesson : values.lessons) {
    std::vector<double> means;
    for (const std::vector<double>& one : lesson) {
      means.push_back(Mean(one));
      if (one.size() > 1) within_person.push_back(Variance(one));
      seeds += static_cast<double>(one.size());
    }
    if (means.size() > 1) within_lesson.push_back(Variance(means));
    people += static_cast<double>(lesson.size());
  }
  const auto lessons = static_cast<double>(values.lessons.size());
  seeds /= people;
  people /= lessons;
  const std::vector<double> lesson_means = LessonMeans(values);
  const double of_seeds = within_person.empty() ? 0 : Mean(within_person);
  const double of_people = within_lesson.empty() ? 0 : std::max(0.0, Mean(within_lesson) - of_seeds / seeds);
  const double of_lessons = std::max(0.0, Variance(lesson_means) - of_people / people - of_seeds / (people * seeds));
  const double difference = std::abs(Mean(lesson_means));

  const auto settled = [&](double n_lessons, double n_people, double n_seeds) {
    const double variance =
        of_lessons / n_lessons + of_people / (n_lessons * n_people) + of_seeds / (n_lessons * n_people * n_seeds);
    if (n_lessons < 2) return false;
    return Student(1 - kAlpha / 2, n_lessons - 1) * std::sqrt(variance) < difference;
  };
  const auto least = [&](double from, auto&& at) -> std::optional<int> {
    for (int n = static_cast<int>(std::ceil(from)); n <= kMostToSettle; ++n) {
      if (at(n)) return n;
    }
    return std::nullopt;
  };
  MoreToSettle out;
  if (difference == 0) return out;
  if (values.lessons.size() > 1) out.lessons = least(lessons, [&](int n) { return settled(n, people, seeds); });
  if (!within_lesson.empty()) out.people = least(people, [&](int n) { return settled(lessons, n, seeds); });
  if (!within_person.empty()) out.seeds = least(seeds, [&](int n) { return settled(lessons, people, n); });
  return out;
}

}  // namespace dryrig
